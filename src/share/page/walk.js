// The walk list: what a phone has in each room. Entries that find no connection are kept and sent when it is back.

import { by, say, show } from "./dom.js";
import { newId, post, told } from "./ask.js";

const KEPT = "walk-list-not-sent";
const AGAIN_MS = 2000;

/** What each row of choices says, and what it stands for. */
const ROWS = {
  stage: [["Before the work", true], ["After the work", false]],
  call: [["Call ✓", true], ["Call ✗", false], ["Call –", null]],
  upload: [["Upload ✓", true], ["Upload ✗", false], ["Upload –", null]],
};
const picked = { stage: false, call: null, upload: null };

let waiting = JSON.parse(sessionStorage.getItem(KEPT) ?? "[]");
let sending = false;

function keep() {
  sessionStorage.setItem(KEPT, JSON.stringify(waiting));
}

function choices(name) {
  const row = by(name);
  row.replaceChildren(
    ...ROWS[name].map(([text, value]) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = text;
      button.setAttribute("aria-pressed", String(picked[name] === value));
      button.addEventListener("click", () => {
        picked[name] = value;
        choices(name);
      });
      return button;
    }),
  );
}

/** The number in a field: null if empty, NaN if it is none. */
function typed(id) {
  const text = by(id).value.trim().replace("−", "-").replace(",", ".");
  return text === "" ? null : Number(text);
}

function save(event) {
  event.preventDefault();
  const room = by("room").value.trim();
  const ask = {
    do: "walk",
    room,
    before: picked.stage,
    level_dbm: typed("walk-level"),
    quality_db: typed("walk-quality"),
    call_ok: picked.call,
    upload_ok: picked.upload,
  };
  const wrong = [ask.level_dbm, ask.quality_db].some((v) => Number.isNaN(v));
  if (room === "" || wrong) {
    told(room === "" ? "Name the room." : "Level and quality are numbers.", true);
    return;
  }
  waiting.push({ id: newId(), ask });
  keep();
  const option = document.createElement("option");
  option.value = room;
  by("rooms").append(option);
  for (const id of ["room", "walk-level", "walk-quality"]) by(id).value = "";
  [picked.call, picked.upload] = [null, null];
  choices("call");
  choices("upload");
  send();
}

async function send() {
  if (sending) return;
  sending = true;
  while (waiting.length > 0) {
    const { id, ask } = waiting[0];
    const answer = await post(id, ask);
    if (answer === null) {
      told(`${waiting.length} not sent yet: kept until the connection is back.`, true);
      await new Promise((later) => setTimeout(later, AGAIN_MS));
      continue;
    }
    waiting.shift();
    keep();
    told(answer.text, !answer.ok);
    if (answer.ok) {
      const item = document.createElement("li");
      say(item, answer.text.replace(/^Marked: /, ""));
      by("walked").append(item);
    }
  }
  sending = false;
}

export function drawWalk(state) {
  const may = Boolean(state?.may_step) && !state.ended;
  show(by("open-walk"), may);
  show(by("mark"), may);
  if (!may) show(by("walk"), false);
}

export function setUpWalk() {
  Object.keys(ROWS).forEach(choices);
  by("walk").addEventListener("submit", save);
  const open = by("open-walk");
  open.addEventListener("click", () => {
    const opens = by("walk").hidden;
    show(by("walk"), opens);
    open.setAttribute("aria-expanded", String(opens));
    open.setAttribute("aria-pressed", String(opens));
    if (opens) by("walk").scrollIntoView();
  });
  for (const button of document.querySelectorAll("[data-step]")) {
    button.addEventListener("click", () => {
      const field = by(button.dataset.of);
      const start = button.dataset.of === "walk-level" ? -95 : 9;
      const here = typed(button.dataset.of);
      const next = here === null || Number.isNaN(here) ? start : here + Number(button.dataset.step);
      field.value = String(next).replace("-", "−");
    });
  }
  if (waiting.length > 0) send();
}
