// Single keys, as long as nobody is typing; they can be turned off, and everything has a button as well.

import { make } from "./making.js";
import { LETTERS } from "./entry.js";

const WORDS = [
  ["a \u2013 h", "take what is beside that letter"],
  ["0 \u2013 9", "begin to type a value; Enter saves it"],
  ["t", "type what was said, in words; Enter saves it, Esc leaves it"],
  ["i", "it is right as it is"],
  ["x", "nothing of the kind was said"],
  ["u", "undo the last answer"],
  ["p", "play the call, or stop it"],
  ["s", "slower, or not"],
  ["w", "with two seconds more on each side"],
  ["\u2192 \u2190", "the next doubt, the one before"],
  ["m", "add a missed call at the moment that is heard"],
  ["r", "give a reason, kept with the next answer"],
  ["?", "show these keys"],
];

export class Keys {
  constructor(dialog, act) {
    Object.assign(this, { dialog, act, on: true });
    document.addEventListener("keydown", (event) => this.#pressed(event));
    const box = make("input", { type: "checkbox", checked: true, onchange: () => (this.on = box.checked) });
    dialog.append(
      make("h2", { id: "keys-title" }, "Keys"),
      make("dl", {}, WORDS.flatMap(([name, words]) => [make("dt", {}, make("kbd", {}, name)), make("dd", {}, words)])),
      make("label", {}, box, " Single keys are on"),
      make("form", { method: "dialog" }, make("button", { autofocus: true }, "Close")),
    );
  }

  show() {
    if (!this.dialog.open) this.dialog.showModal();
  }

  #pressed(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    const typing = event.target.closest?.("input:not([type=radio]):not([type=checkbox]), textarea, select");
    if (typing) {
      if (event.key === "Escape" && !event.target.closest("dialog")) this.act.leave();
      return;
    }
    if (event.repeat && !event.key.startsWith("Arrow")) return; // a key held down is one answer
    if (!this.on || document.querySelector("dialog[open]")) return;
    if (/^[0-9]$/.test(event.key)) {
      this.act.typing(true); // the digit itself goes into the field that has the focus now
      return;
    }
    const number = LETTERS.indexOf(event.key);
    const done = {
      t: () => this.act.typing(false),
      i: () => this.act.answer({ kind: "accept" }),
      x: () => this.act.answer({ kind: "reject" }),
      u: () => this.act.undo(),
      p: () => this.act.sound.toggle(),
      s: () => this.act.sound.toggleSlow(),
      w: () => this.act.sound.toggleWide(),
      m: () => this.act.missed(),
      r: () => this.act.reason(),
      "?": () => this.show(),
      ArrowRight: () => this.act.step(1),
      ArrowLeft: () => this.act.step(-1),
    }[event.key];
    if (number >= 0 && event.key.length === 1) this.act.take(number);
    else if (done) done();
    else return;
    event.preventDefault();
  }
}
