// Small helpers that make elements. Text is always put in as text, never as markup.

const SVG = "http://www.w3.org/2000/svg";

/** Make an HTML element; `parts` are its attributes, and functions for `on...`. */
export function make(tag, parts = {}, ...children) {
  return fill(document.createElement(tag), parts, children);
}

/** Make an SVG element. */
export function draw(tag, parts = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), parts, children);
}

function fill(element, parts, children) {
  for (const [name, value] of Object.entries(parts)) {
    if (typeof value === "function") element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== ""));
  return element;
}

/** A key as it stands on a button; screen readers are told by aria-keyshortcuts instead. */
export function key(name) {
  return make("kbd", { "aria-hidden": "true" }, name);
}

/** A button with a key of its own. */
export function button(name, label, onclick, parts = {}) {
  return make(
    "button",
    { type: "button", onclick, "aria-keyshortcuts": name || null, ...parts },
    name ? key(name) : null,
    name ? " " : null,
    label,
  );
}

/** A probability in percent; one that is not quite 0 or 1 does not look like it. */
export function share(value) {
  if (value > 0 && value < 0.005) return "<1 %";
  if (value > 0.995 && value < 1) return ">99 %";
  return `${Math.round(100 * value)} %`;
}

/** Seconds of the drive as H:MM:SS.s. */
export function clock(seconds) {
  const tenths = Math.max(0, Math.round(seconds * 10));
  const two = (number) => String(number).padStart(2, "0");
  const whole = Math.floor(tenths / 10);
  return `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}.${tenths % 10}`;
}

/** The seconds that H:MM:SS, MM:SS, with or without a fraction, tells; NaN for anything else. */
export function seconds(text) {
  const found = /^(?:(\d{1,4}):)?(\d{1,2}):(\d{2}(?:\.\d{1,3})?)$/.exec(text.trim());
  if (!found || Number(found[2]) > 59 || Number(found[3]) >= 60) return NaN;
  return Number(found[1] ?? 0) * 3600 + Number(found[2]) * 60 + Number(found[3]);
}

/** "1 doubt", "2 doubts". */
export function count(number, one, many = `${one}s`) {
  return `${number} ${number === 1 ? one : many}`;
}

/** A text with a capital letter at its beginning. */
export function begun(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
