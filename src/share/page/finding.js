// The worst finding with what to do first, the alarm, and aim-safe.

import { by, say, show } from "./dom.js";
import { step, twice } from "./ask.js";

const ALARMS = {
  overload: "✗ OVERLOAD",
  oscillation: "✗ OSCILLATION",
};

export function drawFinding(state, live) {
  const finding = state?.finding ?? null;
  const section = by("finding");
  section.className = finding ? finding.severity : "";
  if (!finding) {
    const clear = live && state?.data.state === "good";
    say(by("what"), clear ? "✓ Nothing to put right" : "No finding is open");
    for (const id of ["meaning", "first", "caution"]) say(by(id), "");
    return;
  }
  const more = finding.others > 0 ? ` · ${finding.others} more on the console` : "";
  const sign = { info: "i", warning: "▲", critical: "✗" }[finding.severity];
  say(by("what"), `${sign} ${finding.severity}: ${finding.title} · ${finding.subject}`);
  say(by("meaning"), `${finding.meaning} For ${finding.since}${more}.`);
  const brings = [finding.effect && `brings ${finding.effect}`, finding.cost && `costs ${finding.cost}`].filter(Boolean);
  say(by("first"), finding.action ? `Do first: ${finding.action}${brings.length ? ` (${brings.join("; ")})` : ""}` : "");
  say(by("caution"), finding.caution ? `▲ ${finding.caution}` : "");
}

export function drawAlarm(state, live) {
  const alarm = live ? state?.alarm : null;
  show(by("alarm"), Boolean(alarm));
  say(by("alarm"), alarm ? ALARMS[alarm] : "");
}

const SAFE = {
  on: (left) => `✓ Aim-safe on: uplink off, gain held down${left === null ? "" : `, ${left} s left`}. No calls.`,
  off: () => "▲ Aim-safe off: the unit transmits. Keep away from the front of the antennas.",
  unknown: () => "▲ Aim-safe: the unit has not said. Take it that it transmits.",
};

export function drawSafe(state, live) {
  const safe = live && state ? state.aim_safe : { state: "unknown", left_s: null };
  say(by("safe-state"), SAFE[safe.state](safe.left_s));
  say(by("safe-said"), live && state?.aim_safe.said ? state.aim_safe.said : "");
  const may = live && Boolean(state?.aim_safe.confirm.length);
  show(by("safe-on"), may);
  show(by("safe-ask"), may && by("safe-on").dataset.armed === "true");
  say(by("safe-ask"), may ? state.aim_safe.confirm.join(" ") : "");
}

/** Aim-safe cuts calls: it says what it does and asks once more. */
export function setUpSafe(redraw) {
  const button = by("safe-on");
  twice(button, "Aim-safe on", "Uplink off now? Tap again", () => step({ do: "aim-safe" }, button), redraw);
}
