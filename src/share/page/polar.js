// The bearings as a compass rose: the further out, the better; a bar is the 95 % interval.

import { degrees, number, svg } from "./dom.js";

const INNER = 25;
const OUTER = 88;
/** More stops than this are too close together for a glove. */
const MOST_TO_TAP = 16;

let drawn = "";

function point(bearing, radius) {
  const angle = ((bearing - 90) * Math.PI) / 180;
  return [radius * Math.cos(angle), radius * Math.sin(angle)];
}

function line(parent, bearing, from, to, kind) {
  const [x1, y1] = point(bearing, from);
  const [x2, y2] = point(bearing, to);
  svg("line", { x1, y1, x2, y2, class: kind }, parent);
}

/** Draws the aim; `target` is where to turn, `onTap` is told the bearing of a stop that is tapped. */
export function drawPolar(picture, aim, target, onTap) {
  const key = JSON.stringify([aim.outcome?.stops, aim.rests_at_deg, aim.places_deg, target, Boolean(onTap)]);
  if (key === drawn) return;
  drawn = key;
  picture.replaceChildren();
  const stops = aim.outcome?.stops ?? aim.places_deg.map((bearing_deg) => ({ bearing_deg, visits: 0 }));
  const visited = stops.filter((s) => s.visits > 0);
  const lowest = Math.min(...visited.map((s) => s.low));
  const highest = Math.max(...visited.map((s) => s.high));
  const range = Math.max(highest - lowest, 6);
  const radius = (db) => INNER + (OUTER - INNER) * Math.min(Math.max((db - (highest - range)) / range, 0), 1);
  for (const r of [INNER, (INNER + OUTER) / 2, OUTER]) svg("circle", { r, class: "ring" }, picture);
  if (aim.rests_at_deg !== null) line(picture, aim.rests_at_deg, 0, OUTER + 8, "here");
  const best = aim.outcome?.best_bearing_deg;
  for (const stop of stops) {
    const seen = stop.visits > 0;
    const r = seen ? radius(stop.mean) : OUTER;
    const [cx, cy] = point(stop.bearing_deg, r);
    if (seen) line(picture, stop.bearing_deg, radius(stop.low), radius(stop.high), "span");
    svg("circle", { cx, cy, r: seen ? 5 : 3.5, class: seen ? "stop visited" : "stop" }, picture);
    if (stop.bearing_deg === best) svg("circle", { cx, cy, r: 10, class: "best" }, picture);
    if (stops.length <= MOST_TO_TAP) {
      const [x, y] = point(stop.bearing_deg, OUTER + 18);
      svg("text", { x, y }, picture).textContent = degrees(stop.bearing_deg);
      if (onTap) {
        const hit = svg("circle", { cx: x, cy: y, r: 18, class: "hit" }, picture);
        hit.addEventListener("click", () => onTap(stop.bearing_deg));
      }
    }
  }
  if (target !== null) {
    const [x, y] = point(target, INNER);
    svg("polygon", { points: "-9,10 9,10 0,-16", class: "next", transform: `translate(${x} ${y}) rotate(${target})` }, picture);
  }
  picture.setAttribute("aria-label", described(visited, best));
}

function described(visited, best) {
  const said = visited.map((s) => `${degrees(s.bearing_deg)} ${number(s.mean)}`);
  const first = best === undefined ? "" : `Best so far ${degrees(best)}. `;
  return said.length === 0 ? "Nothing measured yet" : `${first}${said.join(", ")}`;
}
