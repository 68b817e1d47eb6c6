// One value, large: its unit, a word, a bar with its limits.

import { SIGNS, by, number, say } from "./dom.js";

/** What the person chose; null: what fits the state. */
const chosen = { band: null, value: null };

function cycle(list, here) {
  return list[(list.indexOf(here) + 1) % list.length];
}

/** Band and value to show, or null. */
export function picked(state) {
  if (!state || state.bands.length === 0) return null;
  const aiming = state.aim && state.aim.prompt !== "done";
  const known = (band, name) => band.values.find((v) => v.name === name)?.value !== null;
  const wanted = state.aim?.objective === "quality" ? "SINR" : "RSRP";
  // Worst first changes while the antenna turns: an aim needs one band that stays.
  const steady = [...state.bands].sort((a, b) => (a.name < b.name ? -1 : 1)).find((b) => known(b, wanted));
  const band = state.bands.find((b) => b.name === chosen.band) ?? (aiming && steady) ?? state.bands[0];
  const shown = band || state.bands[0];
  const usual = shown.guard || known(shown, "loop margin") ? "loop margin" : "donor input";
  const name = chosen.value ?? (aiming && steady ? wanted : usual);
  return { band: shown, value: shown.values.find((v) => v.name === name) };
}

export function setUpLevel(current, redraw) {
  by("choose-band").addEventListener("click", () => {
    const state = current();
    const now = picked(state);
    if (!now) return;
    chosen.band = cycle(state.bands.map((b) => b.name).sort(), now.band.name);
    redraw();
  });
  by("choose-value").addEventListener("click", () => {
    const now = picked(current());
    if (!now) return;
    chosen.value = cycle(now.band.values.map((v) => v.name), now.value.name);
    redraw();
  });
}

function place(value, [low, high]) {
  return Math.min(Math.max((value - low) / (high - low), 0), 1);
}

function limit(element, value, scale) {
  element.hidden = value === null;
  if (value !== null) element.style.left = `${100 * place(value, scale)}%`;
}

/** Draws it; `live` is false for what is old. */
export function drawLevel(state, live, ageText) {
  const now = picked(state);
  by("level").classList.toggle("stale", !live);
  if (!now) {
    say(by("number"), "–");
    say(by("word"), state ? state.link : "");
    return;
  }
  const { band, value } = now;
  const text = number(value.value);
  say(by("choose-band"), `${SIGNS[band.level]} ${band.name}`);
  say(by("choose-value"), value.name);
  say(by("number"), text);
  by("number").classList.toggle("long", text.length > 4);
  say(by("unit"), value.unit);
  by("value").setAttribute("aria-label", live ? `${text} ${value.unit}` : `old: ${text} ${value.unit}`);
  by("value").dataset.t = band.reading_t_s;
  const word = value.word === "" ? "" : `${SIGNS[value.level]} ${value.word}`;
  say(by("word"), live ? word : `▲ ${ageText}`);
  by("word").className = live ? value.level : "warn";
  by("bar").className = value.level;
  by("fill").style.width = value.value === null ? "0" : `${100 * place(value.value, value.scale)}%`;
  limit(by("low"), value.limits[0], value.scale);
  limit(by("high"), value.limits[1], value.scale);
  const names = value.name === "donor input" ? ["weak below", "overload from"] : ["critical below", "too small below"];
  say(
    by("limits"),
    value.limits.map((v, i) => (v === null ? null : `${names[i]} ${number(v)}`)).filter(Boolean).join(" · "),
  );
}
