// @ts-check
// Small parts that the page is built of: elements, buttons, sentences, messages.

/** @typedef {{date: string, label: string, items: {what: string, minutes: number, box: string, rest: string}[], run: Draw | null}} Day */
/** @typedef {{title: string, lines: string[], kind: string, list: {piece: string, title: string, start: string}[]}} Draw */
/** @typedef {import("./sound.mjs").Sounding & {label: string, number: string, unit: string}} Step */
/** @typedef {{id: string, number: number, title: string, wanted: number, circles: boolean, steps: Step[],
 *   drone: number | null}} Box */
/** @typedef {{key: string, week: string, last: string, player: string, child: boolean, record: boolean, lang: string,
 *   slip: import("./rules.mjs").Slip, a: number, mostUp: number, below: number, breakAfter: number, breakMinutes: number, days: Day[],
 *   boxes: Box[], concerts: {date: string, label: string, pieces: {piece: string, title: string}[]}[],
 *   pieces: {piece: string, title: string}[], dates: Record<string, string>, numbers: number[], script: Record<string, string>}} Data */

/** @typedef {object} App
 * @property {Data} data
 * @property {import("./kept.mjs").Kept} kept
 * @property {import("./sound.mjs").Sound} sound
 * @property {import("./clock.mjs").Clock} clock
 * @property {(message: string, values?: Record<string, string | number>) => string} say
 * @property {(id: string, text: string, ...buttons: HTMLElement[]) => void} tell
 * @property {(id: string) => void} untell
 * @property {() => void} draw
 * @property {(() => void)[]} drawn what is drawn again after each change
 * @property {() => void} hurts
 * @property {(on: boolean) => void} awake
 */

/**
 * An element with its properties and what stands in it.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Record<string, unknown>} [properties]
 * @param {...(Node | string)} inside
 * @returns {HTMLElementTagNameMap[T]}
 */
export function el(tag, properties = {}, ...inside) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (name.includes("-") || name === "role") made.setAttribute(name, String(value));
    else Object.assign(made, { [name]: value });
  }
  made.append(...inside);
  return made;
}

/**
 * @param {string} text
 * @param {() => void} press
 * @param {string} [className]
 */
export function button(text, press, className = "") {
  const made = el("button", { type: "button", className }, text);
  made.addEventListener("click", press);
  return made;
}

/**
 * A box to tick with its words.
 * @param {string} text
 * @param {boolean} checked
 * @param {(on: boolean) => void} change
 */
export function option(text, checked, change) {
  const box = el("input", { type: "checkbox", checked });
  box.addEventListener("change", () => change(box.checked));
  return el("label", { className: "option" }, box, el("span", {}, text));
}

/**
 * A line to write on.
 * @param {string} text
 * @param {string} value
 * @param {(value: string) => void} change
 * @param {number} most
 */
export function field(text, value, change, most = 300) {
  const input = el("textarea", { rows: 1, maxLength: most, value });
  input.addEventListener("input", () => change(input.value));
  return el("label", { className: "field" }, el("span", {}, text), input);
}

/**
 * A text where it is another one: a reader of screens is told only what is new.
 * @param {Element} node
 * @param {string} text
 */
export function put(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/** @param {Record<string, string>} messages */
export function sayer(messages) {
  return (/** @type {string} */ message, /** @type {Record<string, string | number>} */ values = {}) =>
    (messages[message] ?? message).replace(/\{(\w+)\}/gu, (_, name) => String(values[name] ?? ""));
}

/**
 * The messages at the top of the page, each once.
 * @param {HTMLElement} place
 * @param {string} close
 */
export function teller(place, close) {
  /** @type {Map<string, HTMLElement>} */
  const told = new Map();
  const untell = (/** @type {string} */ id) => {
    told.get(id)?.remove();
    told.delete(id);
  };
  const tell = (/** @type {string} */ id, /** @type {string} */ text, /** @type {HTMLElement[]} */ ...buttons) => {
    if (told.get(id)?.dataset.text === text) return;
    untell(id);
    const line = el("div", { className: "message" }, el("p", {}, text));
    line.dataset.text = text;
    line.append(el("div", { className: "row" }, ...buttons, button(close, () => untell(id))));
    told.set(id, line);
    (document.querySelector("dialog[open]") ?? place).prepend(line);
  };
  return { tell, untell };
}

/**
 * A view over the whole screen; it closes by its button and by Escape.
 * @param {App} app
 * @param {string} className
 * @param {string} label
 */
export function screen(app, className, label) {
  const made = el("dialog", { className: `screen ${className}`, "aria-label": label });
  document.body.append(made);
  made.addEventListener("close", () => {
    document.getElementById("messages")?.append(...made.querySelectorAll(".message"));
    made.remove();
  });
  return made;
}

/**
 * Minutes and seconds.
 * @param {number} ms
 */
export function minutes(ms) {
  const seconds = Math.max(0, Math.ceil(ms / 1000));
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}
