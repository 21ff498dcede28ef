// The form of a missed call: when it was said, hear that moment, and what was said.

import { clock, make, seconds } from "./making.js";

const LEAD_S = 2;

export class Missed {
  constructor(dialog, answer) {
    Object.assign(this, { dialog, answer });
    this.audio = new Audio();
    this.audio.addEventListener("error", () => this.#tell("No sound was kept of that moment."));
    this.when = make("input", { id: "missed-when", autocomplete: "off", required: true, inputmode: "numeric" });
    this.words = make("input", { id: "missed-words", autocomplete: "off", maxlength: 200, required: true, spellcheck: "false" });
    this.offered = make("div", { class: "offered", role: "group", "aria-label": "It may mean" });
    this.trouble = make("p", { class: "trouble", role: "alert" });
    const nudge = (by) => make("button", { type: "button", onclick: () => this.#nudge(by) }, `${by > 0 ? "+" : "\u2212"}${Math.abs(by)} s`);
    dialog.append(
      make("h2", { id: "missing-title" }, "Add a missed call"),
      make(
        "form",
        {
          onsubmit: (event) => {
            event.preventDefault();
            this.#save();
          },
        },
        make("label", { for: "missed-when" }, "When it was said, after the start of the drive"),
        make("div", { class: "row" }, this.when, nudge(-5), nudge(-1), nudge(1), nudge(5), make("button", { type: "button", onclick: () => this.#play() }, "Hear it")),
        make("label", { for: "missed-words" }, "What was said"),
        this.words,
        make("p", { class: "quiet" }, "As in the car: 63 %, trip 42.1, note headwind."),
        this.offered,
        this.trouble,
        make("div", { class: "row" }, make("button", { class: "main" }, "Add"), make("button", { type: "button", onclick: () => dialog.close() }, "Cancel")),
      ),
    );
    dialog.addEventListener("close", () => this.audio.pause());
  }

  show(moment) {
    this.when.value = clock(moment);
    this.words.value = "";
    this.#tell("");
    this.offered.replaceChildren();
    this.dialog.showModal();
    this.words.focus();
  }

  #nudge(by) {
    const at = seconds(this.when.value);
    if (!Number.isNaN(at)) this.when.value = clock(at + by);
    this.#play();
  }

  #play() {
    const at = this.#at();
    if (at === null) return;
    this.#tell("");
    this.audio.src = `moment/${Math.round(Math.max(0, at - LEAD_S) * 1000)}.wav`;
    this.audio.play().catch(() => {});
  }

  #at() {
    const at = seconds(this.when.value);
    if (Number.isNaN(at)) {
      this.#tell("Write the time like 1:02:05 or 1:02:05.5.");
      return null;
    }
    return at;
  }

  async #save(choice = null) {
    const at = this.#at();
    if (at === null) return;
    try {
      const found = await this.answer({ kind: "add", at_s: at, words: this.words.value, choice });
      if (found?.choices) this.#offer(found.choices);
      else if (found) this.dialog.close();
    } catch (error) {
      this.#tell(error.message);
    }
  }

  #offer(choices) {
    this.#tell("");
    this.offered.replaceChildren(
      make("p", {}, "That may mean more than one thing. Which?"),
      ...choices.map((text, number) => make("button", { type: "button", onclick: () => this.#save(number) }, text)),
    );
    this.offered.querySelector("button").focus();
  }

  #tell(text) {
    this.trouble.textContent = text;
  }
}
