// The stream of states. It comes back by itself; a connection that is silent is given up and opened anew, because a
// phone that walked out of range is not told.

/** Silence after which the connection is given up. */
const GIVE_UP_MS = 4000;
const FIRST_WAIT_MS = 500;
const LONGEST_WAIT_MS = 4000;

export class Stream {
  #source = null;
  #heard = 0;
  #wait = FIRST_WAIT_MS;
  #timer = null;
  #over = false;
  #onState;
  #onOver;

  constructor(onState, onOver) {
    this.#onState = onState;
    this.#onOver = onOver;
    setInterval(() => this.#look(), 500);
    this.open();
  }

  open() {
    clearTimeout(this.#timer);
    this.#timer = null;
    this.#source?.close();
    if (this.#over) return;
    this.#heard = performance.now();
    const source = new EventSource("events");
    this.#source = source;
    source.onmessage = (event) => {
      this.#heard = performance.now();
      this.#wait = FIRST_WAIT_MS;
      const state = JSON.parse(event.data);
      this.#onState(state, this.#heard);
      if (state.ended) this.end("The console has ended the session.");
    };
    source.onerror = () => {
      // The browser would try again too, but not after every kind of failure, and not with our patience.
      source.close();
      if (source === this.#source) this.#again();
    };
  }

  end(why) {
    this.#over = true;
    this.#source?.close();
    this.#onOver(why);
  }

  #again() {
    if (this.#over || this.#timer !== null) return;
    this.#timer = setTimeout(() => this.open(), this.#wait);
    this.#wait = Math.min(this.#wait * 2, LONGEST_WAIT_MS);
    this.#ask();
  }

  /** Another session at the same address does not know this link: then there is nothing to wait for. */
  async #ask() {
    try {
      const answer = await fetch("icon.svg", { cache: "no-store" });
      if (answer.status === 404) this.end("This link is over: scan the code on the console again.");
    } catch {
      // Out of reach: the stream goes on trying.
    }
  }

  #look() {
    if (this.#timer === null && performance.now() - this.#heard > GIVE_UP_MS) {
      this.#source?.close();
      this.#again();
    }
  }
}
