// How old is what the page shows? Two things can make it old: nothing comes any more, or what comes was held up on the
// way. The server stamps each state with its own clock; the fastest one tells how far that clock is from ours.

/** Silence from which on nothing counts as live. The server sends at least every 500 ms. */
export const SILENT_MS = 1400;
/** Delay on the way from which on a state counts as old. */
const LATE_MS = 1000;
/** Two clocks drift apart: so much the offset may grow per second. */
const DRIFT = 0.0005;

export class Freshness {
  #offset = null;
  #arrived = -Infinity;
  #delay = 0;

  /** A state has come. */
  heard(sentMs, now) {
    const apart = now - sentMs;
    const since = Number.isFinite(this.#arrived) ? now - this.#arrived : 0;
    this.#offset = this.#offset === null ? apart : Math.min(this.#offset + since * DRIFT, apart);
    this.#delay = apart - this.#offset;
    this.#arrived = now;
  }

  /** What is shown may be from before a sleep: it has to prove itself anew. */
  distrust() {
    this.#arrived = -Infinity;
  }

  /** Time since the last state was made, ms; infinite before the first. */
  age(now) {
    return now - this.#arrived + this.#delay;
  }

  isSilent(now) {
    return now - this.#arrived > SILENT_MS;
  }

  isLive(now) {
    return !this.isSilent(now) && this.#delay <= LATE_MS;
  }
}
