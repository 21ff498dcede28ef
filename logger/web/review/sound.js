// One player for all: the call's sound, slower if wanted, with what was around it, and its waveform to click into.

import { ask } from "./asking.js";
import { button, clock, draw, make } from "./making.js";

const SLOWER = 0.7;
const WIDTH = 480;
const HEIGHT = 72;

export class Sound {
  constructor() {
    this.audio = new Audio();
    this.audio.preload = "auto";
    this.slow = false;
    this.wide = false;
    this.path = null;
    this.element = make("div", { class: "sound" });
    for (const name of ["play", "pause", "ended", "seeked", "timeupdate"]) {
      this.audio.addEventListener(name, () => this.#moved());
    }
    this.audio.addEventListener("error", () => {
      if (this.path) this.#tell("This sound cannot be played.");
    });
  }

  /** Show the sound of an entry: its call's number, or null where none was kept. */
  show(entry) {
    this.stop();
    this.entry = entry;
    this.element.replaceChildren();
    this.path = null;
    if (entry.sound === null) {
      this.element.append(make("p", { class: "quiet" }, "No sound was kept of it."));
      return;
    }
    this.playing = button("p", "Play", () => this.toggle(), { class: "main" });
    this.slower = button("s", "Slower", () => this.toggleSlow(), { "aria-pressed": String(this.slow) });
    this.wider = button("w", "2 s more on each side", () => this.toggleWide(), {
      "aria-pressed": String(this.wide && entry.wide),
      hidden: !entry.wide, // where only the call itself was kept
    });
    this.where = make("span", { class: "quiet where" });
    this.wave = make("div", { class: "wave" });
    this.note = make("p", { class: "quiet", hidden: true });
    this.element.append(this.wave, make("div", { class: "row" }, this.playing, this.slower, this.wider, this.where), this.note);
    this.#load();
  }

  async #load() {
    const name = `${this.entry.sound}${this.wide && this.entry.wide ? "-wide" : ""}`;
    this.path = `sound/${name}.wav`;
    this.audio.src = this.path;
    this.audio.playbackRate = this.slow ? SLOWER : 1;
    const path = this.path;
    try {
      const found = await ask(`peaks/${name}`);
      if (path === this.path) this.#drawn(found);
    } catch (error) {
      if (path === this.path) this.#tell(error.message);
    }
  }

  #drawn(found) {
    this.peaks = found;
    const loudest = Math.max(8, ...found.peaks);
    const step = WIDTH / found.peaks.length;
    const bars = found.peaks
      .map((peak, number) => {
        const half = Math.max(0.6, (peak / loudest) * (HEIGHT / 2 - 4));
        return `M${(number * step + step / 2).toFixed(2)} ${(HEIGHT / 2 - half).toFixed(2)}v${(2 * half).toFixed(2)}`;
      })
      .join("");
    this.head = draw("line", { class: "head", x1: 0, x2: 0, y1: 0, y2: HEIGHT });
    const at = this.entry.at_s - found.start_s;
    const mark =
      at >= 0 && at < found.seconds
        ? draw("path", { class: "mark", d: `M${((at / found.seconds) * WIDTH).toFixed(1)} 0v${HEIGHT}` })
        : null;
    const picture = draw(
      "svg",
      {
        viewBox: `0 0 ${WIDTH} ${HEIGHT}`,
        preserveAspectRatio: "none",
        "aria-hidden": "true",
        onclick: (event) => {
          const box = picture.getBoundingClientRect();
          this.seek(((event.clientX - box.left) / box.width) * found.seconds);
        },
      },
      draw("path", { class: "bars", d: bars }),
      mark,
      this.head,
    );
    this.wave.replaceChildren(picture);
    this.#moved();
  }

  #moved() {
    if (!this.peaks || !this.playing) return;
    const going = !this.audio.paused && !this.audio.ended;
    this.playing.lastChild.textContent = going ? "Stop" : "Play";
    const at = this.audio.currentTime;
    this.where.textContent = `${at.toFixed(1)} of ${this.peaks.seconds.toFixed(1)} s`;
    this.head?.setAttribute("transform", `translate(${((at / this.peaks.seconds) * WIDTH).toFixed(2)} 0)`);
    if (going) requestAnimationFrame(() => this.#moved());
  }

  #tell(text) {
    this.note.textContent = text;
    this.note.hidden = false;
  }

  /** The moment of the drive that is being heard, in seconds. */
  get moment() {
    return this.peaks && this.path ? this.peaks.start_s + this.audio.currentTime : (this.entry?.at_s ?? 0);
  }

  toggle() {
    if (!this.path) return;
    if (this.audio.paused || this.audio.ended) this.play();
    else this.stop();
  }

  async play() {
    if (!this.path) return;
    try {
      if (this.audio.ended) this.audio.currentTime = 0;
      this.audio.playbackRate = this.slow ? SLOWER : 1;
      await this.audio.play();
    } catch (error) {
      if (error.name === "NotAllowedError") this.#tell("The browser plays no sound before a key or button was pressed.");
    }
  }

  stop() {
    this.audio.pause();
  }

  seek(seconds) {
    this.audio.currentTime = Math.max(0, seconds);
    if (this.audio.paused) this.play();
  }

  toggleSlow() {
    this.slow = !this.slow;
    this.slower?.setAttribute("aria-pressed", String(this.slow));
    this.audio.playbackRate = this.slow ? SLOWER : 1;
    if (this.audio.paused) this.play();
  }

  toggleWide() {
    if (!this.entry?.wide) return;
    this.wide = !this.wide;
    this.wider.setAttribute("aria-pressed", String(this.wide));
    this.stop();
    this.#load();
    this.play();
  }

  /** A line that says which moment is heard, for the form of a missed call. */
  get momentText() {
    return clock(this.moment);
  }
}
