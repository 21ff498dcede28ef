// Four charts, each a way in: every entry is a point in one of them, by shape as well as by colour what is known of it.

import { begun, count, draw, make } from "./making.js";

const LEFT = 46;
const RIGHT = 10;
const STRIP = 132;
const SMALL = 92;
const RAIL = 34;
const GAP = 36;
const FIRST = 22;
const FOOT = 0;
const TWO_BESIDE = 760;
const OWN = new Set(["charge", "trip", "efficiency", "range_left", "indicated_speed"]);
const MARKS = {
  accepted: "M-3 0a3 3 0 1 0 6 0a3 3 0 1 0-6 0z",
  flagged: "M0-7.5L7.5 0L0 7.5L-7.5 0z",
  corrected: "M-4.2-4.2h8.4v8.4h-8.4z",
  rejected: "M-4-4L4 4M4-4L-4 4",
};
const KNOWN = [
  ["flagged", "in doubt"],
  ["accepted", "accepted"],
  ["corrected", "corrected"],
  ["rejected", "rejected"],
];

/** What the charts are, from top to bottom: each has one or two strips. */
function figures(drive, track) {
  const unit = (quantity) => drive.units[quantity] ?? "";
  return [
    { title: "Charge", strips: [{ quantity: "charge", label: unit("charge"), height: STRIP }] },
    { title: "Trip beside GPS distance", strips: [{ quantity: "trip", label: unit("trip"), height: STRIP }] },
    {
      title: "Efficiency and predicted range",
      strips: [
        { quantity: "efficiency", label: unit("efficiency"), height: SMALL },
        { quantity: "range_left", label: unit("range_left"), height: SMALL },
      ],
    },
    {
      title: "Speed, altitude and all other entries",
      strips: [
        { quantity: "indicated_speed", label: track.speed_unit || unit("indicated_speed"), height: SMALL, line: track.speed },
        { label: "m", height: SMALL, line: track.altitude, name: "altitude" },
        { rail: true, label: "", height: RAIL, name: "other entries" },
      ],
    },
  ];
}

export class Charts {
  constructor(element, tip, choose) {
    Object.assign(this, { element, tip, choose });
    this.room = 0;
    new ResizeObserver(() => {
      if (this.drive && Math.abs(this.element.clientWidth - this.room) > 4) this.show(this.drive, this.track, this.selected);
    }).observe(element);
  }

  show(drive, track, selected) {
    Object.assign(this, { drive, track, selected });
    this.room = this.element.clientWidth;
    const style = getComputedStyle(this.element);
    const inside = this.room - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
    const beside = inside >= TWO_BESIDE;
    this.element.classList.toggle("two", beside);
    this.width = Math.floor(beside ? (inside - 24) / 2 : inside);
    const known = drive.entries.filter((entry) => entry.x !== null);
    const most = Math.max(track.length ?? 0, ...known.map((entry) => entry.x), 0.001);
    this.scale = { ...nice(Math.min(0, ...known.map((entry) => entry.x)), most, 6), high: most * 1.02 };
    this.scale.ticks = this.scale.ticks.filter((tick) => tick <= this.scale.high);
    const lost = drive.entries.length - known.length;
    const made = figures(drive, track).map((figure, number) => this.#figure(figure, number, known));
    this.element.replaceChildren(
      this.#legend(),
      ...made,
      lost ? make("p", { class: "quiet" }, `${count(lost, "entry", "entries")} without a place: see the list.`) : "",
    );
  }

  /** Mark another entry as the one that is shown. */
  select(id) {
    if (this.drive) this.show(this.drive, this.track, id);
  }

  #legend() {
    return make(
      "p",
      { class: "legend" },
      KNOWN.map(([status, words]) =>
        make("span", {}, draw("svg", { viewBox: "-9 -9 18 18", class: `point ${status}`, "aria-hidden": "true" }, draw("path", { d: MARKS[status] })), ` ${words}`),
      ),
    );
  }

  #figure(figure, number, entries) {
    const inner = Math.max(120, this.width - LEFT - RIGHT);
    const x = (value) => LEFT + ((value - this.scale.low) / (this.scale.high - this.scale.low)) * inner;
    const parts = [];
    const points = [];
    let top = FIRST;
    const strips = figure.strips.map((strip) => [strip, entries.filter((entry) => belongs(entry, strip))]);
    const told = strips.filter(([strip, own]) => own.length || strip.line?.length || strip.rail);
    if (!told.length) return make("figure", {}, make("figcaption", {}, figure.title), make("p", { class: "quiet" }, "None was called out."));
    for (const [strip, own] of told) {
      const drawn = this.#strip(strip, own, x, top, inner);
      parts.push(...drawn.parts);
      points.push(...drawn.points);
      top += strip.height + GAP;
    }
    const height = top + FOOT;
    for (const value of this.scale.ticks) {
      parts.push(
        draw("line", { class: "grid", x1: x(value), x2: x(value), y1: FIRST, y2: top - GAP }),
        draw("text", { class: "tick", x: x(value), y: top - GAP + 15, "text-anchor": "middle" }, short(value, this.scale.step)),
      );
    }
    parts.push(draw("text", { class: "tick", x: LEFT + inner, y: top - GAP + 29, "text-anchor": "end" }, `${this.drive.along} ${this.drive.along === "h" ? "since the start" : "by GPS"}`));
    const chosen = entries.find((entry) => entry.id === this.selected);
    if (chosen) parts.push(draw("line", { class: "now", x1: x(chosen.x), x2: x(chosen.x), y1: FIRST, y2: top - GAP }));
    points.sort((one, other) => one.x - other.x);
    return make("figure", {}, make("figcaption", {}, figure.title), this.#picture(figure, number, parts, points, height));
  }

  #picture(figure, number, parts, points, height) {
    // Those in doubt are drawn last, on top of what they stand beside.
    const order = [...points].sort((one, other) => (one.entry.status === "flagged") - (other.entry.status === "flagged"));
    const group = draw(
      "g",
      {
        role: "listbox",
        tabindex: points.length ? "0" : null,
        "aria-label": `${figure.title}: ${count(points.length, "entry", "entries")} along the drive. Arrow keys go along, Enter opens one.`,
      },
      order.map((point) =>
        draw(
          "g",
          {
            role: "option",
            id: `point-${number}-${point.entry.id}`,
            class: `point ${point.entry.status}${point.entry.id === this.selected ? " current" : ""}`,
            transform: `translate(${point.x.toFixed(1)} ${point.y.toFixed(1)})`,
            "aria-label": told(point.entry),
            "aria-selected": String(point.entry.id === this.selected),
            "data-id": point.entry.id,
          },
          draw("circle", { class: "hit", r: 10 }),
          draw("path", { d: MARKS[point.entry.status] }),
        ),
      ),
    );
    const picture = draw("svg", { width: this.width, height, viewBox: `0 0 ${this.width} ${height}` }, parts, group);
    this.#listen(picture, group, points, number);
    return picture;
  }

  #listen(picture, group, points, number) {
    let at = -1;
    const go = (to) => {
      at = Math.max(0, Math.min(points.length - 1, to));
      const element = picture.querySelector(`#point-${number}-${CSS.escape(points[at].entry.id)}`);
      group.querySelector(".reached")?.classList.remove("reached");
      element.classList.add("reached");
      group.setAttribute("aria-activedescendant", element.id);
      this.#tell(element, points[at].entry);
    };
    group.addEventListener("keydown", (event) => {
      const steps = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };
      if (event.key in steps) {
        const start = at < 0 ? points.findIndex((point) => point.entry.id === this.selected) : at;
        go(start < 0 ? (steps[event.key] > 0 ? 0 : points.length - 1) : start + steps[event.key]);
      } else if (event.key === "Home") go(0);
      else if (event.key === "End") go(points.length - 1);
      else if (event.key === "Enter" && at >= 0) this.choose(points[at].entry.id);
      else return;
      event.preventDefault();
      event.stopPropagation();
    });
    group.addEventListener("blur", () => {
      group.querySelector(".reached")?.classList.remove("reached");
      this.#hide();
    });
    picture.addEventListener("pointermove", (event) => {
      const point = event.target.closest("[data-id]");
      if (point) this.#tell(point, this.drive.entries.find((entry) => entry.id === point.dataset.id));
      else this.#hide();
    });
    picture.addEventListener("pointerleave", () => this.#hide());
    picture.addEventListener("click", (event) => {
      const point = event.target.closest("[data-id]");
      if (point) this.choose(point.dataset.id);
    });
  }

  #strip(strip, entries, x, top, inner) {
    const bottom = top + strip.height;
    const line = strip.line ?? [];
    const parts = [];
    const name = strip.name ?? "";
    if (strip.rail) {
      parts.push(draw("line", { class: "axis", x1: LEFT, x2: LEFT + inner, y1: bottom - 12, y2: bottom - 12 }));
      parts.push(draw("text", { class: "tick", x: 2, y: top + 6 }, name));
      return { parts, points: entries.map((entry) => ({ entry, x: x(entry.x), y: bottom - 12 })) };
    }
    const values = [...entries.map((entry) => entry.y), ...line.map((point) => point[1])];
    const scale = nice(Math.min(...values), Math.max(...values), strip.height > 100 ? 4 : 3);
    const y = (value) => bottom - ((value - scale.low) / (scale.high - scale.low)) * strip.height;
    for (const value of scale.ticks) {
      parts.push(
        draw("line", { class: "grid", x1: LEFT, x2: LEFT + inner, y1: y(value), y2: y(value) }),
        draw("text", { class: "tick", x: LEFT - 6, y: y(value) + 4, "text-anchor": "end" }, short(value, scale.step)),
      );
    }
    parts.push(draw("text", { class: "tick unit", x: 2, y: top - 9 }, [name, strip.label].filter(Boolean).join(", ")));
    if (line.length) parts.push(path("track", line.map((point) => [x(point[0]), y(point[1])])));
    else parts.push(path("course", entries.filter((entry) => ["accepted", "corrected"].includes(entry.status)).map((entry) => [x(entry.x), y(entry.y)])));
    return { parts, points: entries.map((entry) => ({ entry, x: x(entry.x), y: y(entry.y) })) };
  }

  #tell(element, entry) {
    this.tip.textContent = told(entry);
    this.tip.hidden = false;
    const box = element.getBoundingClientRect();
    const own = this.tip.getBoundingClientRect();
    const left = Math.min(Math.max(4, box.left + box.width / 2 - own.width / 2), document.documentElement.clientWidth - own.width - 4);
    const above = box.top - own.height - 6;
    this.tip.style.left = `${left}px`;
    this.tip.style.top = `${above > 4 ? above : box.bottom + 6}px`;
  }

  #hide() {
    this.tip.hidden = true;
  }
}

/** Whether an entry is a point of a strip; the rail has all that have no strip of their own. */
function belongs(entry, strip) {
  if (strip.rail) return !OWN.has(entry.quantity) || entry.y === null;
  return entry.quantity === strip.quantity && entry.y !== null;
}

function told(entry) {
  return `${begun(entry.text)} at ${entry.at}, ${entry.status_words}`;
}

function path(kind, points) {
  return draw("path", { class: kind, d: points.map(([x, y], number) => `${number ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`).join("") });
}

/** An axis: round limits around two values, and about `count` round steps between them. */
function nice(least, most, wanted) {
  if (most - least < 0.02 * Math.abs(most) || most === least) {
    const room = Math.max(0.03 * Math.abs(most), 0.5);
    return nice(least - room, most + room, wanted);
  }
  const span = most - least;
  const raw = span / wanted;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((each) => each * power).find((each) => each >= raw);
  const low = Math.floor(least / step) * step;
  const high = Math.max(Math.ceil(most / step) * step, low + step);
  const ticks = [];
  for (let number = 0; low + number * step <= high + step / 1e6; number += 1) ticks.push(low + number * step);
  return { low, high, ticks, step };
}

/** A tick's number with as many decimals as its step has. */
function short(value, step) {
  return value.toFixed(Math.max(0, Math.min(6, -Math.floor(Math.log10(step) + 1e-9))));
}
