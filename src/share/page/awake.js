// Keeps the screen on where the browser can; says so where it can't.

import { by, say } from "./dom.js";

let lock = null;

async function hold() {
  if (lock !== null || document.visibilityState !== "visible") return;
  if (!navigator.wakeLock) {
    say(
      by("awake"),
      isSecureContext
        ? "This browser lets the screen go dark: set a longer time on the phone."
        : "The screen may go dark: browsers keep it on only over an encrypted link (--share-tls).",
    );
    return;
  }
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => (lock = null));
    say(by("awake"), "");
  } catch {
    say(by("awake"), "The phone lets the screen go dark: its battery may be low.");
  }
}

export function setUpAwake() {
  document.addEventListener("visibilitychange", hold);
  document.addEventListener("click", hold);
  hold();
}
