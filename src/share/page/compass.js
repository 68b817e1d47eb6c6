// The phone's compass as a bearing, for a phone fixed to the mount. Only encrypted pages get it. A magnetic heading
// near a mast is a guess: the page shows its spread and says so.

import { by, degrees, say, show } from "./dom.js";

/** Headings of this last time tell the spread. */
const WINDOW_MS = 2000;
/** What a phone's compass is off by at best, degrees (common practice, no source). */
const AT_BEST_DEG = 5;
const STALE_MS = 1500;

let on = false;
let headings = [];
let reported = null;

const radians = (deg) => (deg * Math.PI) / 180;

function heard(event) {
  const now = performance.now();
  const magnetic = event.webkitCompassHeading;
  const heading = magnetic ?? (event.absolute && event.alpha !== null ? (360 - event.alpha) % 360 : null);
  if (heading === null || heading === undefined) return;
  reported = event.webkitCompassAccuracy > 0 ? event.webkitCompassAccuracy : null;
  headings = headings.filter((h) => now - h.at < WINDOW_MS);
  headings.push({ at: now, heading });
}

/** Mean heading and its error, degrees; null without a heading. */
export function heading(now = performance.now()) {
  const recent = headings.filter((h) => now - h.at < WINDOW_MS);
  if (recent.length === 0 || now - recent.at(-1).at > STALE_MS) return null;
  const x = recent.reduce((sum, h) => sum + Math.cos(radians(h.heading)), 0) / recent.length;
  const y = recent.reduce((sum, h) => sum + Math.sin(radians(h.heading)), 0) / recent.length;
  const mean = ((Math.atan2(y, x) * 180) / Math.PI + 360) % 360;
  // Spread of directions on a circle.
  const length = Math.min(Math.hypot(x, y), 1);
  const spread = length > 0 ? (Math.sqrt(-2 * Math.log(length)) * 180) / Math.PI : 180;
  return { mean: Math.round(mean) % 360, error: Math.ceil(Math.max(spread * 2, reported ?? 0, AT_BEST_DEG)) };
}

export function drawCompass(maySteps) {
  show(by("compass"), Boolean(maySteps) && isSecureContext && "DeviceOrientationEvent" in window);
  show(by("heading"), on);
  if (!on) return;
  const now = heading();
  say(
    by("heading"),
    now
      ? `Compass ${degrees(now.mean)} ± ${now.error}°, magnetic. Steel near it (mast, roof, railing) turns it by much ` +
          "more: compare it with a sight before you trust it."
      : "The compass gives no heading: this phone may have none, or the browser does not allow it.",
  );
}

export function setUpCompass(redraw) {
  by("compass").addEventListener("click", async () => {
    const ask = window.DeviceOrientationEvent?.requestPermission;
    if (!on && ask && (await ask.call(window.DeviceOrientationEvent).catch(() => "denied")) !== "granted") return;
    on = !on;
    const change = on ? "addEventListener" : "removeEventListener";
    for (const kind of ["deviceorientationabsolute", "deviceorientation"]) window[change](kind, heard);
    headings = [];
    by("compass").setAttribute("aria-pressed", String(on));
    redraw();
  });
}
