// The aim: what to do next in large letters, one large button to say that it is done.

import { by, degrees, number, say, show } from "./dom.js";
import { step, stepButton, twice } from "./ask.js";
import { drawPolar } from "./polar.js";
import { heading } from "./compass.js";

/** A bearing that the person chose instead of the one asked for, and the prompt it was chosen at. */
let own = { bearing: null, at: null };

const WORDS = {
  turn: (aim, to) => [`Turn to ${degrees(to)}`, "Then step behind the antenna, hands off, and tap Turned."],
  hold: (aim) => ["Hold", `Hands off at ${degrees(aim.rests_at_deg)}. It says when it has enough${lasts(aim)}.`],
  settle: () => ["Hands off", "Then tap Turned: the dwell begins anew."],
  "link-lost": () => ["Leave it where it is", "The link to the unit dropped; this dwell begins anew when it is back."],
  done: (aim) => [aim.outcome ? `Best: ${degrees(aim.outcome.best_bearing_deg)}` : "Done", "Turn there, tighten the mount, check the level again."],
};

function lasts(aim) {
  return aim.dwell_s === null ? "" : ` (${number(aim.dwell_s, 0)} s)`;
}

function target(aim) {
  if (aim.prompt === "done") return aim.outcome?.best_bearing_deg ?? null;
  const at = JSON.stringify([aim.prompt, aim.turn_to_deg, aim.dwells]);
  return own.at === at && own.bearing !== null ? own.bearing : aim.turn_to_deg;
}

function result(aim) {
  const outcome = aim.outcome;
  if (!outcome) return "";
  const lines = [
    `${aim.prompt === "done" ? "Best" : "Best so far"} ${degrees(outcome.best_bearing_deg)}: within 1 dB of the best with probability ${outcome.probability_within_1db.toFixed(2)}`,
    `${outcome.turns} turns, ${number(outcome.total_dwell_s, 0)} s measured`,
  ];
  if (aim.prompt === "done") {
    lines.push(`${number(outcome.gain_over_start_db)} dB over the first bearing, ${number(outcome.gain_over_median_db)} dB over the median`);
    if (outcome.equal.length > 0) lines.push(`As good: ${outcome.equal.map(degrees).join(", ")}`);
    if (outcome.next_best_bearing_deg !== null) lines.push(`For fallback: ${degrees(outcome.next_best_bearing_deg)}`);
    const best = outcome.stops.find((s) => s.bearing_deg === outcome.best_bearing_deg);
    if (best?.needs_attenuation_db > 0) lines.push(`▲ It needs ${number(best.needs_attenuation_db, 0)} dB of attenuation`);
  }
  return lines.join("\n");
}

export function drawAim(state, live, redraw) {
  const aim = state?.aim ?? null;
  show(by("prompt"), aim !== null);
  show(by("aim"), aim !== null);
  if (aim === null) return;
  const to = target(aim);
  const [next, more] = WORDS[aim.prompt](aim, to);
  by("prompt").className = aim.prompt;
  document.body.dataset.prompt = aim.prompt;
  say(by("do-next"), live || aim.prompt === "done" ? next : `▲ Wait: no connection`);
  say(by("do-more"), live || aim.prompt === "done" ? more : `Last asked: ${next}`);
  const steps = state.may_step && aim.prompt !== "done" && !state.ended;
  const choose = (bearing) => {
    own = { bearing, at: JSON.stringify([aim.prompt, aim.turn_to_deg, aim.dwells]) };
    redraw();
  };
  drawPolar(by("polar"), aim, to, steps && aim.prompt === "turn" ? choose : null);
  show(by("steps"), steps);
  const compass = heading();
  const bearing = aim.prompt === "turn" && compass ? compass.mean : (to ?? aim.rests_at_deg);
  const button = by("turned");
  button.dataset.bearing = bearing ?? "";
  button.dataset.settles = String(aim.prompt === "settle");
  const sure = compass && aim.prompt === "turn" ? ` at ${degrees(bearing)} ± ${compass.error}°` : ` at ${degrees(bearing)}`;
  say(button, aim.prompt === "hold" || aim.prompt === "link-lost" ? "Hold" : `Turned${aim.prompt === "settle" ? "" : sure}`);
  show(button, aim.prompt === "turn" || aim.prompt === "settle");
  say(by("result"), result(aim));
}

export function setUpAim() {
  const button = by("turned");
  button.addEventListener("click", () => {
    const settles = button.dataset.settles === "true";
    step(settles ? { do: "settled" } : { do: "turned", bearing_deg: Number(button.dataset.bearing) }, button);
  });
  stepButton("moving", { do: "moving" });
  stepButton("repeat", { do: "repeat" });
  stepButton("undo", { do: "undo" });
  const finish = by("finish");
  twice(finish, "Finish", "End the aim? Tap again", () => step({ do: "finish" }, finish));
}
