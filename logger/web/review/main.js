// The review: what is shown, what is answered, and what that did.

import { answer, ask } from "./asking.js";
import { Charts } from "./charts.js";
import { EntryView } from "./entry.js";
import { Keys } from "./keys.js";
import { List } from "./list.js";
import { begun, button, count, make } from "./making.js";
import { Missed } from "./missed.js";
import { Sound } from "./sound.js";

const byId = (id) => document.getElementById(id);

class Review {
  constructor() {
    this.asked = new Set(); // every id that was in doubt at some time
    this.fresh = new Set(); // doubts that the last answer made vanish
    this.undoable = []; // answers given here, in order: the entry's id and the decision's
    this.details = new Map(); // fetched for the revision that is shown
    this.busy = false;
    this.sound = new Sound();
    this.list = new List(byId("entries"), (id) => this.choose(id, true));
    this.charts = new Charts(byId("charts"), byId("tip"), (id) => this.choose(id, true));
    this.view = new EntryView(byId("entry"), this.sound, {
      answer: (body) => this.answer(body),
      choose: (id) => this.choose(id, true),
    });
    this.missing = new Missed(byId("missing"), (body) => this.send(body));
    const keys = new Keys(byId("keys"), {
      sound: this.sound,
      answer: (body) => this.answer(body),
      take: (number) => this.view.take(number),
      undo: () => this.undo(),
      missed: () => this.missed(),
      typing: (digit) => this.view.startTyping(digit),
      reason: () => this.view.entry && this.view.why.focus(),
      leave: () => this.view.focus(),
      step: (by) => this.step(by),
    });
    byId("help").addEventListener("click", () => keys.show());
    byId("missed").addEventListener("click", () => this.missed());
    // Somebody else may have decided something while this page was out of sight.
    document.addEventListener("visibilitychange", () => document.hidden || this.refresh());
  }

  async begin() {
    try {
      const [drive, track] = await Promise.all([ask("state"), ask("track")]);
      this.track = track;
      this.took(drive);
      const first = this.doubts[0] ?? drive.entries[0];
      if (first) await this.choose(first.id);
      else this.done();
      document.body.dataset.ready = "true";
      performance.mark("ready");
    } catch (error) {
      this.alert(error.message);
    }
  }

  get doubts() {
    return this.drive.entries.filter((entry) => entry.status === "flagged");
  }

  /** Take over a new state of the drive. */
  took(drive) {
    this.drive = drive;
    this.details.clear();
    for (const entry of this.doubts) this.asked.add(entry.id);
    document.title = `${this.doubts.length ? `(${this.doubts.length}) ` : ""}Review of ${drive.name}`;
    byId("name").textContent = `Review of ${drive.name}`;
    byId("began").textContent = `${drive.began.slice(0, 10)}, ${drive.began.slice(11, 16)} UTC. You are ${drive.who}.`;
    const left = this.doubts.length;
    byId("left").textContent = left ? `${count(left, "doubt")} left of ${this.asked.size}` : "Nothing is in doubt";
    byId("done").max = Math.max(1, this.asked.size);
    byId("done").value = this.asked.size ? this.asked.size - left : 1;
    this.alert(drive.blocked ? drive.blocked : "");
  }

  async detail(id) {
    const revision = this.drive.revision;
    if (!this.details.has(id)) this.details.set(id, ask(`entry/${encodeURIComponent(id)}`));
    const found = await this.details.get(id);
    if (revision !== this.drive.revision) return this.detail(id);
    return found;
  }

  /** Show an entry. */
  async choose(id, asked = false, did = null) {
    this.selected = id;
    if (asked) this.fresh = new Set();
    this.list.show(this.drive, this.asked, id, this.fresh);
    this.charts.show(this.drive, this.track, id);
    try {
      const entry = await this.detail(id);
      if (this.selected !== id) return;
      this.view.show(entry, did);
      if (asked || did) {
        byId("entry").scrollIntoView({ block: "nearest" });
        this.view.focus();
      }
      const next = this.after(id);
      if (next) this.detail(next.id).catch(() => this.details.delete(next.id));
    } catch (error) {
      this.details.delete(id);
      this.alert(error.message);
    }
  }

  /** The doubt after an entry, or the first one. */
  after(id, by = 1) {
    const doubts = this.doubts.filter((entry) => entry.id !== id);
    if (!doubts.length) return null;
    const at = this.drive.entries.find((entry) => entry.id === id)?.at_s ?? -Infinity;
    if (by > 0) return doubts.find((entry) => entry.at_s >= at) ?? doubts[0];
    return doubts.findLast((entry) => entry.at_s <= at) ?? doubts.at(-1);
  }

  step(by) {
    const next = this.after(this.selected, by);
    if (next) this.choose(next.id, true);
  }

  /** Answer about the entry that is shown. */
  async answer(body) {
    const entry = this.view.entry;
    if (!entry || entry.id !== this.selected) return null; // another one is on its way
    try {
      return await this.send({ entry: entry.id, why: this.view.why.value.trim(), ...body });
    } catch (error) {
      if (this.view.entry === entry) this.view.tell(error.message);
      return null;
    }
  }

  /** Send an answer, and show what it came to; choices are given back. */
  async send(body) {
    if (this.busy) return null;
    this.busy = true;
    document.body.classList.add("busy");
    try {
      const found = await answer({ revision: this.drive.revision, ...body });
      if (found.choices) return found;
      await this.settled(found, body);
      return found;
    } catch (error) {
      if (error.meanwhile) {
        this.took(error.state);
        await this.choose(this.known(this.selected) ?? this.doubts[0]?.id ?? this.drive.entries[0]?.id, true);
        this.alert(error.message);
        return null;
      }
      throw error;
    } finally {
      this.busy = false;
      document.body.classList.remove("busy");
    }
  }

  known(id) {
    return this.drive.entries.some((entry) => entry.id === id) ? id : null;
  }

  async settled(found, body) {
    this.took(found.state);
    this.fresh = new Set(found.vanished.map((each) => each.id));
    if (body.kind === "undo") this.undoable = this.undoable.filter((each) => each.decision !== body.decision);
    else this.undoable.push(...found.about.map((entry, number) => ({ entry, decision: found.decisions[number] })));
    const own = found.about.map((id) => this.drive.entries.find((entry) => entry.id === id));
    const told = own.map((entry, number) => (entry ? `${entry.text} at ${entry.at}: ${entry.status_words}.` : `${found.about[number]} is gone.`));
    const lines = [
      ...found.vanished.map((each) => ["Settled with it", each]),
      ...found.appeared.map((each) => ["Now in doubt", each]),
      ...found.changed.map((each) => ["Changed with it", each]),
    ];
    for (const [words, each] of lines) told.push(`${words}: ${each.after?.text ?? "gone"} at ${each.at}.`);
    const left = this.doubts.length;
    told.push(left ? `${count(left, "doubt")} left.` : "Nothing is in doubt any more.");
    const did = this.did(own, lines, body.kind === "undo" ? "Undone: " : "");
    const next = body.kind === "undo" || body.kind === "add" ? found.about[0] : (this.after(found.about[0])?.id ?? null);
    if (next && this.known(next)) await this.choose(next, false, did);
    else this.done(did);
    byId("said").textContent = told.join(" ");
  }

  /** What an answer did, as it stands above the next doubt. */
  did(own, lines, begins) {
    return make(
      "div",
      { class: "did" },
      own
        .filter(Boolean)
        .map((entry) =>
          make(
            "p",
            {},
            begins,
            make("strong", {}, begins ? entry.text : begun(entry.text)),
            ` at ${entry.at}: ${entry.status_words}. `,
            entry.id === this.undoable.at(-1)?.entry ? button("u", "Undo", () => this.undo(), { class: "small" }) : null,
          ),
        ),
      lines.map(([words, each]) =>
        make(
          "p",
          { class: each.in_doubt ? "appeared" : "gone" },
          `${words}: `,
          make("button", { type: "button", class: "link", onclick: () => this.choose(each.id, true) }, each.after?.text ?? each.before.text),
          ` at ${each.at}`,
          each.before && each.after && each.before.text !== each.after.text ? `, was ${each.before.text}` : "",
        ),
      ),
    );
  }

  done(did = null) {
    this.selected = null;
    this.list.show(this.drive, this.asked, null, this.fresh);
    this.charts.show(this.drive, this.track, null);
    const asked = this.drive.entries.filter((entry) => this.asked.has(entry.id));
    const decided = asked.filter((entry) => entry.decided).length;
    const words = asked.length
      ? `${count(asked.length, "entry was", "entries were")} asked about: ${decided} decided by a person, ${asked.length - decided} settled by that. `
      : "";
    this.view.showDone(
      "Nothing is in doubt any more",
      `${words}Everything is kept: close this page, and end odovox with Ctrl-C. Or open any entry from the list or the charts.`,
      did,
    );
    this.view.focus();
  }

  /** Undo the last answer given here; where there is none, the one that counts for the entry that is shown. */
  async undo() {
    const last = this.undoable.at(-1) ?? (this.view.entry && { entry: this.view.entry.id });
    if (!last) return;
    try {
      await this.send({ kind: "undo", ...last });
    } catch (error) {
      this.undoable = this.undoable.filter((each) => each !== last);
      this.alert(error.message);
    }
  }

  missed() {
    const moment = this.sound.moment;
    this.sound.stop();
    this.missing.show(moment);
  }

  async refresh() {
    if (this.busy || !this.drive) return;
    try {
      const drive = await ask("state");
      const changed = drive.revision !== this.drive.revision;
      if (!changed && drive.blocked === this.drive.blocked) return;
      if (changed) this.track = await ask("track");
      this.took(drive);
      if (changed) await this.choose(this.known(this.selected) ?? this.doubts[0]?.id ?? drive.entries[0]?.id);
    } catch (error) {
      this.alert(error.message);
    }
  }

  alert(text) {
    byId("alert").textContent = text;
  }
}

new Review().begin();
