// @ts-check
// One recording: played back beside the score, gone when the page closes, never sent.
import { button, el, put } from "./parts.mjs";

/** @typedef {import("./parts.mjs").App} App */

/** @type {{recorder: MediaRecorder, stream: MediaStream} | null} */
let going = null;

/** Stop whatever records. */
export function stopTake() {
  if (going?.recorder.state === "recording") going.recorder.stop();
}

/**
 * @param {App} app
 * @returns {HTMLElement} the part of the page that records
 */
export function takePart(app) {
  const { say } = app;
  const audio = el("audio", { controls: true, hidden: true, "aria-label": say("take") });
  const save = el("a", { className: "button", hidden: true, download: "" }, say("take_save"));
  const told = el("p", { className: "meta", role: "status" });
  let own = false;
  const start = button(say("record"), () => (own && going ? stopTake() : void begin()));
  const begin = async () => {
    stopTake();
    app.sound.stop();
    try {
      if (!navigator.mediaDevices || typeof MediaRecorder === "undefined") throw new Error("no recorder");
      // What makes speech clear takes the life out of music.
      const plainly = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
      const stream = await navigator.mediaDevices.getUserMedia({ audio: plainly });
      listen(stream);
    } catch {
      put(told, say("record_refused"));
    }
  };
  const listen = (/** @type {MediaStream} */ stream) => {
    /** @type {Blob[]} */
    const chunks = [];
    const recorder = new MediaRecorder(stream);
    recorder.addEventListener("dataavailable", (event) => chunks.push(event.data));
    recorder.addEventListener("stop", () => {
      for (const track of stream.getTracks()) track.stop();
      [going, own] = [null, false];
      done(chunks);
    });
    recorder.start();
    [going, own] = [{ recorder, stream }, true];
    put(start, say("record_stop"));
    put(told, say("recording"));
  };
  const done = (/** @type {Blob[]} */ chunks) => {
    if (audio.src) URL.revokeObjectURL(audio.src);
    const type = chunks[0]?.type || "audio/webm";
    const ending = /mp4|aac/u.test(type) ? "m4a" : type.includes("ogg") ? "ogg" : "webm";
    audio.src = URL.createObjectURL(new Blob(chunks, { type }));
    Object.assign(save, { href: audio.src, download: `take.${ending}`, hidden: false });
    audio.hidden = false;
    put(start, say("record_again"));
    put(told, say("take_here"));
  };
  globalThis.addEventListener("pagehide", () => audio.src && URL.revokeObjectURL(audio.src));
  return el("div", { className: "take" }, el("p", { className: "meta" }, say("record_private")), el("div", { className: "row" }, start, save), audio, told);
}
