// @ts-check
// The metronome and the sound of the boxes. One loop of many beats plays by itself: no timer has to be in time.
import { loopOf } from "./rules.mjs";

/** @typedef {{bpm: number, bar: number, length: number, notes: (number | number[][])[][], clicks: [number, boolean][]}} Sounding
 * A step: seconds; notes as [onset, length, MIDI number, decibels or points of them, plucked]; clicks before and in it. */

const CLICK = 0.03;
const LEAD = 0.1;
const TAIL = 0.6;
const PARTIALS = 14;

/**
 * Samples of a click: the first of a bar is higher.
 * @param {boolean} strong
 * @param {number} rate
 */
export function clickWave(strong, rate) {
  const wave = new Float32Array(Math.round(CLICK * rate));
  const hertz = strong ? 1760 : 1320;
  for (let n = 0; n < wave.length; n++) {
    const time = n / rate;
    const end = Math.min(1, (wave.length - 1 - n) / 64);
    wave[n] = 0.8 * Math.sin(2 * Math.PI * hertz * time) * Math.exp(-time / 0.006) * end;
  }
  return wave;
}

/**
 * @param {BaseAudioContext} context
 * @param {number} bpm
 * @param {number} bar
 * @param {boolean} accent
 */
export function beatBuffer(context, bpm, bar, accent) {
  const rate = context.sampleRate;
  const loop = loopOf(bpm, rate, bar);
  const buffer = context.createBuffer(1, loop.length, rate);
  const samples = buffer.getChannelData(0);
  const waves = [clickWave(false, rate), clickWave(true, rate)];
  loop.at.forEach((at, beat) => {
    const wave = waves[accent && bar > 1 && beat % bar === 0 ? 1 : 0];
    samples.set(wave.subarray(0, Math.min(wave.length, loop.length - at)), at);
  });
  return buffer;
}

/**
 * Hertz of a MIDI number (ISO 16 has 440 for a4).
 * @param {number} key
 * @param {number} a
 */
export function hertzOf(key, a) {
  return a * 2 ** ((key - 69) / 12);
}

/**
 * @param {BaseAudioContext} context
 * @param {(n: number) => number} strength
 */
function waveOf(context, strength) {
  const imaginary = Float32Array.from({ length: PARTIALS + 1 }, (_, n) => (n ? strength(n) : 0));
  return context.createPeriodicWave(new Float32Array(PARTIALS + 1), imaginary);
}

/**
 * One note into a context.
 * @param {BaseAudioContext} context
 * @param {PeriodicWave} wave
 * @param {number} a
 * @param {(number | number[][])[]} note
 * @param {number} start
 * @param {AudioNode} out
 */
function strike(context, wave, a, note, start, out) {
  const [onset, length, key, level, plucked] = /** @type {[number, number, number, number | number[][], number]} */ (note);
  const points = typeof level === "number" ? [[0, level]] : level;
  const loud = (/** @type {number} */ decibels) => 0.16 * 10 ** (decibels / 20);
  const [from, to] = [start + onset, start + onset + length];
  const rise = Math.min(plucked ? 0.003 : 0.025, length / 2);
  const gain = context.createGain();
  gain.gain.setValueAtTime(0, from);
  gain.gain.linearRampToValueAtTime(loud(points[0][1]), from + rise);
  for (const [time, decibels] of points.slice(1)) {
    if (time > rise) gain.gain.linearRampToValueAtTime(loud(decibels), from + Math.min(time, length));
  }
  if (plucked) gain.gain.setTargetAtTime(0, from + rise, 0.18);
  else gain.gain.setTargetAtTime(0, to, 0.008);
  const voice = context.createOscillator();
  voice.setPeriodicWave(wave);
  voice.frequency.value = hertzOf(key, a);
  voice.connect(gain).connect(out);
  voice.start(from);
  voice.stop(to + 0.08);
}

/**
 * A step as sound, rendered before it is played.
 * @param {Sounding} step
 * @param {{a: number, drone?: number | null, click?: boolean, rate?: number}} how
 */
export async function rendered(step, { a, drone = null, click = false, rate = 44100 }) {
  const first = click && step.clicks.length ? Math.min(0, step.clicks[0][0]) : 0;
  const start = 0.05 - first;
  const context = new OfflineAudioContext(1, Math.ceil((start + step.length + TAIL) * rate), rate);
  const bow = waveOf(context, (n) => 1 / n ** 1.4 / (1 + (n / 9) ** 2));
  for (const note of step.notes) strike(context, bow, a, note, start, context.destination);
  if (drone !== null) strike(context, waveOf(context, (n) => 1 / n ** 1.7), a, [first, step.length - first, drone, -9, 0], start, context.destination);
  if (click) {
    for (const [time, strong] of step.clicks) {
      const wave = clickWave(strong, rate);
      const buffer = context.createBuffer(1, wave.length, rate);
      buffer.copyToChannel(wave, 0);
      const source = new AudioBufferSourceNode(context, { buffer });
      source.connect(context.destination);
      source.start(start + time);
    }
  }
  return context.startRendering();
}

/** All that sounds on the page: one thing at a time. */
export class Sound {
  /** @type {AudioContext | null} */ #context = null;
  /** @type {AudioBufferSourceNode | null} */ #source = null;
  #began = 0;
  #bpm = 0;
  #turn = 0;
  /** What sounds: "beat", "music" or "". */
  now = "";
  /** Told when something begins or ends. */
  changed = () => {};

  /** Whether this browser can make sound at all. */
  get works() {
    return typeof AudioContext !== "undefined";
  }

  async #ready() {
    this.#context ??= new AudioContext();
    // A telephone then plays as it plays music, also with its ringer off, where it can do so.
    const session = /** @type {{audioSession?: {type: string}}} */ (/** @type {unknown} */ (navigator)).audioSession;
    if (session) session.type = "playback";
    await this.#context.resume();
    return this.#context;
  }

  /**
   * @param {AudioBuffer} buffer
   * @param {boolean} loop
   * @param {number} level
   */
  #begin(buffer, loop, level) {
    const context = /** @type {AudioContext} */ (this.#context);
    const gain = new GainNode(context, { gain: level });
    const source = new AudioBufferSourceNode(context, { buffer, loop });
    source.connect(gain).connect(context.destination);
    source.addEventListener("ended", () => this.#source === source && this.stop());
    this.#began = context.currentTime + LEAD;
    source.start(this.#began);
    this.#source = source;
    this.changed();
  }

  /**
   * @param {{bpm: number, bar: number}} step
   * @param {{accent: boolean, audible: boolean}} how
   */
  async beat(step, { accent, audible }) {
    this.stop();
    const turn = ++this.#turn;
    const context = await this.#ready();
    if (turn !== this.#turn) return;
    [this.#bpm, this.now] = [step.bpm, "beat"];
    this.#begin(beatBuffer(context, step.bpm, step.bar, accent), true, audible ? 0.9 : 0);
  }

  /**
   * @param {Sounding} step
   * @param {{a: number, drone: number | null, click: boolean}} how
   */
  async play(step, how) {
    this.stop();
    const turn = ++this.#turn;
    const [context, buffer] = await Promise.all([this.#ready(), rendered(step, how)]);
    if (turn !== this.#turn || context.state === "closed") return;
    this.now = "music";
    this.#begin(buffer, false, 0.9);
  }

  /** Two soft notes that say that the minutes are over. */
  async sign() {
    if (this.now) return;
    const step = { bpm: 60, bar: 0, length: 1.4, clicks: /** @type {[number, boolean][]} */ ([]), notes: [[0, 0.6, 74, -10, 1], [0.7, 0.7, 69, -10, 1]] };
    await this.play(step, { a: 440, drone: null, click: false });
  }

  stop() {
    this.#turn++;
    this.now = "";
    const source = this.#source;
    this.#source = null;
    source?.stop();
    this.changed();
  }

  /** Seconds since the beat that sounds now. */
  within() {
    const beat = 60 / this.#bpm;
    return this.#heard() % beat;
  }

  #heard() {
    const context = this.#context;
    return context ? context.currentTime - (context.outputLatency || 0) - this.#began : -1;
  }

  /** The number of the beat that sounds now, from 0; -1 for none. */
  at() {
    const heard = this.now === "beat" ? this.#heard() : -1;
    return heard < 0 ? -1 : Math.floor((heard * this.#bpm) / 60);
  }
}
