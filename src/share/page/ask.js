// What the page asks for. Each request has a number of its own: sent again after a lost answer, it is done once.

import { by, say, show } from "./dom.js";

/** A step that found no way through for so long is given up: it would come too late. */
const STEP_MS = 8000;
const AGAIN_MS = 700;

let hide = null;

/** Says what became of it, for a while. */
export function told(text, refused) {
  const said = by("said");
  said.classList.toggle("refused", refused);
  say(said, `${refused ? "▲" : "✓"} ${text}`);
  clearTimeout(hide);
  hide = setTimeout(() => say(said, ""), refused ? 9000 : 4000);
}

export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
}

/** Sends once: `{ok, text}` as answered, or null where no answer came. */
export async function post(id, ask) {
  try {
    const answer = await fetch("step", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ id, ask }),
      signal: AbortSignal.timeout(5000),
    });
    if (answer.status === 429 || answer.status === 410) return null;
    return { ok: answer.ok, text: (await answer.text()) || `refused (${answer.status})` };
  } catch {
    return null;
  }
}

/** Takes a step and says what became of it; true if it was done. */
export async function step(ask, button) {
  const id = newId();
  const until = performance.now() + STEP_MS;
  if (button) button.disabled = true;
  let answer = null;
  while (answer === null && performance.now() < until) {
    answer = await post(id, ask);
    if (answer === null) await new Promise((later) => setTimeout(later, AGAIN_MS));
  }
  if (button) button.disabled = false;
  if (answer === null) told("No connection: this was not sent. Try again when data is live.", true);
  else told(answer.text, !answer.ok);
  return answer?.ok ?? false;
}

/** Buttons that take a step. */
export function stepButton(id, ask) {
  const button = by(id);
  button.addEventListener("click", () => step(typeof ask === "function" ? ask() : ask, button));
  return { show: (visible) => show(button, visible) };
}

/** How long a first tap waits for the second. */
const TWICE_MS = 8000;

/** A button that asks before it does something. */
export function twice(button, text, question, act, changed = () => {}) {
  let armed = null;
  const disarm = () => {
    clearTimeout(armed);
    armed = null;
    button.dataset.armed = "false";
    say(button, text);
    changed();
  };
  button.addEventListener("click", () => {
    if (armed !== null) {
      disarm();
      act();
      return;
    }
    button.dataset.armed = "true";
    say(button, question);
    armed = setTimeout(disarm, TWICE_MS);
    changed();
  });
}
