// The page: a state comes, everything is drawn from it. Between states only the age goes on.

import { by, say } from "./dom.js";
import { Freshness } from "./fresh.js";
import { Stream } from "./stream.js";
import { drawLevel, picked, setUpLevel } from "./level.js";
import { drawAlarm, drawFinding, drawSafe, setUpSafe } from "./finding.js";
import { drawAim, setUpAim } from "./aim.js";
import { drawWalk, setUpWalk } from "./walk.js";
import { drawCompass, setUpCompass } from "./compass.js";
import { setTone, setUpTone } from "./tone.js";
import { setUpAwake } from "./awake.js";
import { stepButton } from "./ask.js";

const AGE_MS = 200;

const freshness = new Freshness();
let state = null;
let arrived = 0;
let over = null;

/** Seconds in words. */
function span(seconds) {
  if (!Number.isFinite(seconds)) return "of before";
  const s = Math.max(Math.round(seconds), 0);
  return s < 120 ? `${s} s old` : `${Math.floor(s / 60)} min old`;
}

/** Whether to trust what is shown, and why not. */
function judge(now) {
  if (over) return { kind: "bad", text: over, live: false };
  if (!state) return { kind: "none", text: "connecting", live: false };
  if (!freshness.isLive(now)) return { kind: "bad", text: "no connection to the console", live: false };
  if (state.data.state === "none") return { kind: "none", text: `no data yet: ${state.link}`, live: true };
  if (state.data.state === "bad") return { kind: "bad", text: `data bad: ${state.data.why}`, live: true };
  return { kind: "good", text: "data good", live: true };
}

function draw() {
  const now = performance.now();
  const judged = judge(now);
  const shown = picked(state);
  const current = judged.live && Boolean(shown?.band.current) && !state.ended;
  // Age of the reading when the state was made, and what has passed since.
  const age = shown ? shown.band.age_s + (now - arrived) / 1000 : Infinity;
  const sign = { good: "✓", bad: "▲", none: "○" }[judged.kind];
  by("fresh").className = judged.kind;
  say(by("fresh"), `${sign} ${judged.text}`);
  const where = [state?.origin, state?.unit, shown && !current ? span(age) : null];
  say(by("where"), where.filter(Boolean).join(" · "));
  document.body.dataset.live = String(current);
  document.body.dataset.state = state ? state.t_s : "";
  drawLevel(state, current, span(age));
  drawAlarm(state, current);
  drawAim(state, judged.live, draw);
  drawFinding(state, judged.live);
  drawSafe(state, judged.live);
  drawWalk(state);
  drawCompass(state?.may_step && state.aim);
  setTone(current ? state.alarm : null, current, shown?.value);
}

const stream = new Stream(
  (next, at) => {
    // A state that overtook this one cannot be: one connection, in order. One from a connection given up could.
    if (state && next.sent_ms < state.sent_ms) return;
    state = next;
    arrived = at;
    freshness.heard(next.sent_ms, at);
    draw();
  },
  (why) => {
    over = why;
    draw();
  },
);

document.addEventListener("visibilitychange", () => {
  if (document.visibilityState !== "visible") return;
  freshness.distrust();
  stream.open();
  draw();
});

setUpLevel(() => state, draw);
setUpSafe(draw);
setUpAim();
setUpWalk();
setUpCompass(draw);
setUpTone();
setUpAwake();
stepButton("mark", { do: "mark" });
setInterval(draw, AGE_MS);
draw();
