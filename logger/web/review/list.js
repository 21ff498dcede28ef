// The list of entries: those asked about, or all. What was settled stays in its place, so that one sees it go.

import { begun, make } from "./making.js";

const SIGNS = { flagged: "?", accepted: "\u2713", corrected: "\u270e", rejected: "\u00d7" };

export class List {
  constructor(element, choose) {
    this.element = element;
    this.choose = choose;
    this.which = "doubts";
    for (const input of document.querySelectorAll("input[name=which]")) {
      input.checked = input.value === this.which;
      input.addEventListener("change", () => {
        this.which = input.value;
        this.show(this.drive, this.asked, this.selected, this.fresh);
      });
    }
  }

  /**
   * Show the drive's entries.
   * @param drive the state of the drive
   * @param asked ids that were in doubt at any time of this review
   * @param selected the id of the entry that is shown
   * @param fresh ids of doubts that the last answer made vanish
   */
  show(drive, asked, selected, fresh) {
    Object.assign(this, { drive, asked, selected, fresh });
    const shown = drive.entries.filter((entry) => this.which === "all" || asked.has(entry.id));
    this.element.replaceChildren(...shown.map((entry) => this.#row(entry)));
    if (!shown.length) this.element.append(make("li", { class: "quiet none" }, "Nothing was in doubt."));
    this.element.querySelector("[aria-current]")?.scrollIntoView({ block: "nearest" });
  }

  #row(entry) {
    const vanished = this.fresh.has(entry.id);
    const state = vanished ? "vanished with your answer" : this.#state(entry);
    return make(
      "li",
      { class: `${entry.status}${vanished ? " vanished" : ""}` },
      make(
        "button",
        {
          type: "button",
          "aria-current": entry.id === this.selected ? "true" : null,
          onclick: () => this.choose(entry.id),
        },
        make("span", { class: "sign", "aria-hidden": "true" }, SIGNS[entry.status]),
        make("span", { class: "what" }, begun(entry.text)),
        make("span", { class: "when" }, entry.at),
        make("span", { class: "state" }, state),
      ),
    );
  }

  #state(entry) {
    if (entry.status === "flagged") return "in doubt";
    if (entry.decided) return `${entry.status_words} by a person`;
    return this.asked.has(entry.id) ? `${entry.status_words}, settled by the rest` : entry.status_words;
  }
}
