// The handles: what each looks like, where it stands, and which is nearest to a finger.

import { lengthText } from "./lengths.js";
import { put, svg } from "./dom.js";

const CLOSE_PX = 14;
const TOUCH_PX = 12; // half of the 24 px that a finger needs
const SHAPES = {
  point: "M-4 -4H4V4H-4Z",
  rounding: "M-5 4A9 9 0 0 1 4 -5",
  through: "M-4 0A4 4 0 0 1 4 0A4 4 0 0 1 -4 0Z",
  bulge: "M-5 4L0 -5L5 4Z",
  control: "M-3 0A3 3 0 0 1 3 0A3 3 0 0 1 -3 0Z",
  bore: "M0 -6L6 0L0 6L-6 0Z",
  axle: "M-6 0A6 6 0 0 1 6 0A6 6 0 0 1 -6 0ZM-9 0H9M0 -9V9",
  eye: "M-5 -4H5L0 5Z",
  centre: "M-6 0H6M0 -6V6",
  diameter: "M-6 -4V4M-6 0H6M6 -4V4",
};

// Whether a handle says and shows the same as it did.
function alike(a, b) {
  return (
    a.kind === b.kind && a.label === b.label && a.fixed === b.fixed &&
    a.numbers.length === b.numbers.length &&
    a.numbers.every((number, k) => number.mm === b.numbers[k].mm && number.text === b.numbers[k].text)
  );
}

export class Handles {
  constructor(paper, layer, heard) {
    this.paper = paper;
    this.layer = layer;
    this.heard = heard; // { focus(handle), key(handle, event) }
    this.byId = new Map();
    this.list = [];
    this.chosen = "";
    this.unit = "mm";
    this.offset = null; // { id, at }: a handle that is under way
    paper.moved.push(() => this.place());
  }

  show(scene) {
    this.unit = scene.unit;
    this.mirrored = scene.mirrored;
    const seen = new Set();
    let before = null;
    for (const handle of scene.handles) {
      seen.add(handle.id);
      let item = this.byId.get(handle.id);
      if (!item) {
        item = this.begin(handle.id);
        this.byId.set(handle.id, item);
      }
      const same = item.handle && alike(item.handle, handle);
      item.handle = handle;
      const next = before ? before.nextSibling : this.layer.firstChild;
      if (next !== item.element) this.layer.insertBefore(item.element, next);
      before = item.element;
      if (same) continue;
      put(item.element, {
        class: this.classes(handle),
        "aria-label": this.words(handle),
        "aria-disabled": handle.fixed ? "true" : null,
      });
      put(item.shape, { d: SHAPES[handle.kind] });
      if (item.title.textContent !== this.tip(handle)) item.title.textContent = this.tip(handle);
    }
    for (const [id, item] of this.byId) {
      if (seen.has(id)) continue;
      if (id === this.chosen) this.chosen = "";
      item.element.remove();
      this.byId.delete(id);
    }
    this.list = scene.handles;
    this.place();
  }

  begin(id) {
    const shape = svg("path", { class: "dr-shape" });
    const tie = svg("path", { class: "dr-tie" });
    const title = svg("title");
    const element = svg(
      "g",
      {
        role: "button",
        tabindex: "0",
        "data-handle": id,
        onfocus: () => this.heard.focus(this.byId.get(id).handle),
        onkeydown: (event) => this.heard.key(this.byId.get(id).handle, event),
      },
      title,
      tie,
      svg("circle", { class: "dr-hit", r: TOUCH_PX }),
      svg("circle", { class: "dr-ring", r: 9 }),
      shape,
    );
    return { element, shape, tie, title, handle: null };
  }

  classes(handle) {
    const chosen = handle.id === this.chosen ? " dr-chosen" : "";
    return `dr-handle dr-of-${handle.kind}${handle.fixed ? " dr-fixed" : ""}${chosen}`;
  }

  // What a screen reader says: the name, and its numbers as they are now.
  words(handle) {
    const view = { side: "side view", top: "top view", tail: "tail view" }[handle.view];
    return `${view}, ${handle.label}: ${this.numbers(handle)}`;
  }

  numbers(handle) {
    return handle.numbers.map((number) => `${number.name} ${lengthText(number.mm, this.unit)}`).join(", ");
  }

  tip(handle) {
    return `${handle.label}\n${this.numbers(handle)}${handle.fixed ? `\n${handle.fixed}` : ""}`;
  }

  at(handle) {
    return this.offset && this.offset.id === handle.id ? this.offset.at : handle.at;
  }

  place() {
    let last = [-99, -99];
    for (const known of this.list) {
      const item = this.byId.get(known.id);
      const { element, tie, handle } = item;
      const [x, y] = this.paper.toScreen(handle.view, this.at(handle));
      // Points that stand closer than they are wide are drawn small, but for one here and there.
      const dense = handle.kind === "point" && Math.hypot(x - last[0], y - last[1]) < CLOSE_PX;
      if (handle.kind === "point" && !dense) last = [x, y];
      const [tx, ty] = handle.tied ? this.paper.toScreen(handle.view, handle.tied) : [0, 0];
      const drawn = item.drawn;
      if (drawn && drawn[0] === x && drawn[1] === y && drawn[2] === dense && drawn[3] === tx && drawn[4] === ty) continue;
      item.drawn = [x, y, dense, tx, ty];
      put(element, { transform: `translate(${x.toFixed(2)} ${y.toFixed(2)})`, "data-dense": dense });
      if (handle.tied) {
        put(tie, { d: `M0 0L${(tx - x).toFixed(1)} ${(ty - y).toFixed(1)}` });
      }
    }
  }

  choose(id) {
    const before = this.byId.get(this.chosen);
    this.chosen = id;
    if (before?.handle) put(before.element, { class: this.classes(before.handle) });
    const item = this.byId.get(id);
    if (item?.handle) put(item.element, { class: this.classes(item.handle) });
  }

  get(id) {
    return this.byId.get(id)?.handle || null;
  }

  focus(id) {
    this.byId.get(id)?.element.focus({ preventScroll: true });
  }

  // The handle nearest to a place on the screen; of two as near the one that is chosen already.
  nearest([x, y], reach) {
    let best = null;
    let least = reach;
    for (const handle of this.list) {
      const [hx, hy] = this.paper.toScreen(handle.view, this.at(handle));
      const off = Math.hypot(hx - x, hy - y) - (handle.id === this.chosen ? 3 : handle.kind === "point" ? 1 : 0);
      if (off < least) [best, least] = [handle, off];
    }
    return best;
  }

  // The neighbours of an outline's point, for the rubber lines while it is under way.
  neighbours(handle) {
    if (handle.kind !== "point") return [];
    const list = handle.id.replace(/\[\d+\]$/, "[");
    const points = this.list.filter((each) => each.kind === "point" && each.id.startsWith(list));
    const here = points.findIndex((each) => each.id === handle.id);
    const open = handle.view === "top" && list === "plan.points[" && this.mirrored;
    return [here - 1, here + 1]
      .filter((k) => !open || (k >= 0 && k < points.length))
      .map((k) => points[(k + points.length) % points.length].at);
  }
}
