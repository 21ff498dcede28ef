// One entry with all there is to decide it by, and everything that may be answered.

import { begun, button, key, make, share } from "./making.js";

export const LETTERS = "abcdefgh";

export class EntryView {
  /**
   * @param element where it is shown
   * @param sound the player
   * @param act what is done: answer(body), choose(id), edit()
   */
  constructor(element, sound, act) {
    Object.assign(this, { element, sound, act });
    this.entry = null;
  }

  /** Show an entry; `did` is what the last answer came to. */
  show(entry, did) {
    this.entry = entry;
    this.choices = null;
    this.why = make("input", { id: "why", maxlength: 300, autocomplete: "off" });
    this.words = make("input", { id: "words", maxlength: 200, autocomplete: "off", spellcheck: "false" });
    this.offered = make("div", { class: "offered", role: "group", "aria-label": "It may mean" });
    this.trouble = make("p", { class: "trouble", role: "alert" });
    this.sound.show(entry);
    this.element.replaceChildren(
      did ?? "",
      this.#head(),
      this.sound.element,
      this.#ranked(),
      this.#typing(),
      this.#others(),
      this.#beside(),
      this.#heard(),
      this.#history(),
    );
  }

  /** Say that nothing is left, with what the last answer did. */
  showDone(text, words, did) {
    this.entry = null;
    this.sound.stop();
    this.element.replaceChildren(did ?? "", make("h2", { tabindex: "-1" }, text), make("p", {}, words));
  }

  focus() {
    this.element.querySelector("h2")?.focus({ preventScroll: true });
  }

  /** Put the cursor into the field for words; what was in it gives way to a digit, and to anything typed otherwise. */
  startTyping(digit) {
    if (!this.entry) return;
    this.words.focus();
    if (digit) this.words.value = "";
    else this.words.select();
  }

  #head() {
    const entry = this.entry;
    const where = [`${entry.at} after the start`, entry.utc.slice(11, 19) + " UTC"];
    if (entry.way) where.push(`${entry.way} along the track`);
    const map =
      entry.lat_deg === null ? null : make("span", {}, ` (${entry.lat_deg.toFixed(5)}, ${entry.lon_deg.toFixed(5)})`);
    return make(
      "div",
      { class: "head" },
      make("h2", { tabindex: "-1" }, begun(entry.text), " ", make("span", { class: `chip ${entry.status}` }, entry.status_words)),
      make("p", { class: "quiet" }, where.join(" \u00b7 "), map),
      entry.reason ? make("p", { class: "reason" }, sentence(entry.reason)) : null,
    );
  }

  #ranked() {
    const rows = this.entry.ranked.slice(0, LETTERS.length);
    if (!rows.length) return "";
    return make(
      "div",
      { class: "ranked" },
      make("h3", {}, "What was it?"),
      make(
        "ol",
        {},
        rows.map((row, number) =>
          make(
            "li",
            {},
            button(
              LETTERS[number],
              make(
                "span",
                { class: "option" },
                make("strong", {}, row.text),
                make("span", { class: "heard" }, row.heard ? ` \u201c${row.heard}\u201d` : "", row.number === null ? " \u2013 as heard" : ""),
                make("span", { class: "share" }, share(row.probability)),
              ),
              () => this.take(number),
            ),
          ),
        ),
      ),
      this.entry.none > 0.005 ? make("p", { class: "quiet none-of-these" }, `None of these: ${share(this.entry.none)}`) : null,
    );
  }

  #typing() {
    const note = this.entry.quantity === "note";
    const form = make(
      "form",
      {
        class: "typing",
        onsubmit: (event) => {
          event.preventDefault();
          this.type();
        },
      },
      make("label", { for: "words" }, key("t"), note ? " Or type what the note says" : " Or type what was said"),
      make("div", { class: "row" }, this.words, make("button", {}, "Save")),
      make(
        "p",
        { class: "quiet" },
        note
          ? "As it stands, such as \u201ccharging\u201d or \u201cdetour by the mill\u201d."
          : "Digits or words, with or without the unit: 105, 105 mi, one oh five.",
      ),
      this.offered,
      this.trouble,
    );
    if (note) this.words.value = this.entry.note;
    return form;
  }

  #others() {
    const entry = this.entry;
    const standing = entry.steps.some((step) => !step.withdrawn && !step.text.startsWith("withdrew"));
    return make(
      "div",
      { class: "row others" },
      entry.quantity === "unheard" ? null : button("i", "It is right as it is", () => this.act.answer({ kind: "accept" })),
      button("x", "Nothing of the kind was said", () => this.act.answer({ kind: "reject" })),
      standing ? button("u", "Undo", () => this.act.answer({ kind: "undo" })) : null,
      make("span", { class: "why" }, make("label", { for: "why" }, key("r"), " Reason, if any"), this.why),
    );
  }

  #beside() {
    const entry = this.entry;
    const rows = entry.near.map((each) =>
      make(
        "tr",
        {},
        make("th", { scope: "row" }, `Trusted, ${each.side} it`),
        make("td", {}, each.id ? this.#link(each.id, each.text) : each.text),
        make("td", {}, `${each.away}, ${each.way} ${each.side === "before" ? "earlier" : "later"}`),
      ),
    );
    if (entry.expected) rows.push(make("tr", {}, make("th", { scope: "row" }, "By that it would be"), make("td", { colspan: 2 }, entry.expected)));
    const told = new Set(entry.near.map((each) => each.id));
    for (const each of entry.beside.filter((one) => !told.has(one.id))) {
      rows.push(
        make(
          "tr",
          {},
          make("th", { scope: "row" }, each.at_s < entry.at_s || (each.at_s === entry.at_s && each.id < entry.id) ? "Said right before" : "Said right after"),
          make("td", {}, this.#link(each.id, each.text), each.status === "flagged" ? " (in doubt)" : ""),
          make("td", {}, each.at),
        ),
      );
    }
    if (!rows.length) return "";
    return make("div", { class: "beside" }, make("h3", {}, "Beside it"), make("table", {}, make("tbody", {}, rows)));
  }

  #link(id, text) {
    return make("button", { type: "button", class: "link", onclick: () => this.act.choose(id) }, text);
  }

  #heard() {
    const entry = this.entry;
    if (!entry.answers.length) return "";
    const lines = entry.answers.map((each) =>
      make("li", {}, make("span", { class: "share" }, share(each.weight)), ` ${each.text}`),
    );
    if (entry.more_answers) lines.push(make("li", { class: "quiet" }, `and ${entry.more_answers} more`));
    return make("details", {}, make("summary", {}, "All that was heard of the call"), make("ol", { class: "answers" }, lines));
  }

  #history() {
    const steps = this.entry.steps;
    if (!steps.length) return "";
    return make(
      "div",
      { class: "history" },
      make("h3", {}, "What people decided"),
      make(
        "ol",
        {},
        steps.map((step) =>
          make(
            "li",
            { class: step.withdrawn ? "withdrawn" : null },
            make("span", { class: "quiet" }, `${step.at.slice(0, 10)} ${step.at.slice(11, 19)} UTC `),
            `${step.who} ${step.text}`,
          ),
        ),
      ),
    );
  }

  /** Take what is beside a letter, by its number. */
  take(number) {
    if (this.choices) return this.#chosen(number);
    const row = this.entry?.ranked[number];
    if (!row) return undefined;
    return this.act.answer(row.number === null ? { kind: "accept" } : { kind: "take", number: row.number });
  }

  /** Save what was typed. */
  async type(choice = null) {
    const words = this.words.value.trim();
    if (!words) return;
    const kind = this.entry.quantity === "note" ? "note" : "type";
    const found = await this.act.answer(kind === "note" ? { kind, words } : { kind, words, choice });
    if (found?.choices) this.#offer(found.choices);
  }

  #offer(choices) {
    this.choices = choices;
    this.trouble.textContent = "";
    this.offered.replaceChildren(
      make("p", {}, "That may mean more than one thing. Which?"),
      ...choices.map((text, number) => button(LETTERS[number] ?? "", text, () => this.#chosen(number))),
    );
    this.offered.querySelector("button").focus();
  }

  #chosen(number) {
    if (number < this.choices.length) this.type(number);
  }

  /** Tell what was wrong with an answer. */
  tell(text) {
    this.trouble.textContent = text;
  }
}

function sentence(text) {
  const whole = begun(text);
  return /[.!?]$/.test(whole) ? whole : `${whole}.`;
}
