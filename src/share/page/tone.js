// A tone whose pitch follows the level, for eyes that are on the antenna. Off until it is tapped: browsers want it so,
// and so do people. What is wrong sounds like nothing else: overload two notes in turn, oscillation a fast trill, old
// data two short low knocks.

import { by, say } from "./dom.js";

const LOWEST_HZ = 220;
const OCTAVES = 3;
const LOUD = 0.25;
const TICK_MS = 50;
const ALARMS = {
  overload: { notes: [988, 659], beat_ms: 250 },
  oscillation: { notes: [1760, 1319], beat_ms: 50 },
};

let audio = null;
let voice = null;
let volume = null;
let now = { sound: "stale", pitch: null };

/** Pitch of a value on its scale, Hz; null where it is not known. */
export function pitch(value) {
  if (!value || value.value === null) return null;
  const [low, high] = value.scale;
  const share = Math.min(Math.max((value.value - low) / (high - low), 0), 1);
  return LOWEST_HZ * 2 ** (OCTAVES * share);
}

/** What to sound from now on. */
export function setTone(alarm, live, value) {
  const hz = live ? pitch(value) : null;
  now = { sound: alarm ?? (live ? "level" : "stale"), pitch: hz };
  const shown = document.body.dataset;
  shown.tone = audio ? now.sound : "off";
  shown.pitch = hz === null ? "" : hz.toFixed(1);
}

function tick() {
  if (!audio || audio.state !== "running") return;
  const t = audio.currentTime;
  const ms = performance.now();
  let hz = now.pitch;
  let loud = hz === null ? 0 : LOUD;
  let shape = "sine";
  if (ALARMS[now.sound]) {
    const { notes, beat_ms } = ALARMS[now.sound];
    hz = notes[Math.floor(ms / beat_ms) % notes.length];
    [loud, shape] = [LOUD, "square"];
  } else if (now.sound === "stale") {
    const beat = ms % 2500;
    hz = 110;
    loud = beat < 80 || (beat > 160 && beat < 240) ? LOUD : 0;
    shape = "triangle";
  }
  if (voice.type !== shape) voice.type = shape;
  if (hz !== null) voice.frequency.setTargetAtTime(hz, t, 0.015);
  volume.gain.setTargetAtTime(loud, t, 0.01);
}

export function setUpTone() {
  const button = by("sound");
  button.addEventListener("click", async () => {
    if (audio) {
      await audio.close();
      audio = null;
      document.body.dataset.tone = "off";
    } else {
      audio = new AudioContext();
      voice = new OscillatorNode(audio, { frequency: LOWEST_HZ });
      volume = new GainNode(audio, { gain: 0 });
      voice.connect(volume).connect(audio.destination);
      voice.start();
      await audio.resume();
      document.body.dataset.tone = now.sound;
    }
    const on = audio !== null;
    button.setAttribute("aria-pressed", String(on));
    say(button, on ? "Sound on" : "Sound off");
  });
  setInterval(tick, TICK_MS);
}
