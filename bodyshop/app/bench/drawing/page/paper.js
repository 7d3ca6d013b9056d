// The sheet: three views at one scale, aligned; zoom and pan; and where a place on it lies in a view.

import { fill, put, svg } from "./dom.js";

const GAP_MM = 22;
const EDGE_PX = 26;
const NARROWEST_GRID_PX = 9;
const CLOSEST = 60; // px a mm
const WIDEST = 0.2;
const VIEWS = ["side", "top", "tail"];

export class Paper {
  constructor(root) {
    this.root = root;
    this.scale = 1;
    this.left = 0;
    this.top = 0;
    this.layout = null;
    this.scene = null;
    this.moved = [];
    this.grid = svg("g", { class: "dr-grid", "aria-hidden": "true" });
    this.world = svg("g", { class: "dr-world", "aria-hidden": "true" });
    this.words = svg("g", { class: "dr-words", "aria-hidden": "true" });
    this.views = Object.fromEntries(VIEWS.map((name) => [name, svg("g", { class: `dr-view dr-${name}` })]));
    this.world.append(...VIEWS.map((name) => this.views[name]));
    root.append(this.grid, this.world, this.words);
  }

  show(scene, { keep = false } = {}) {
    const first = !this.scene;
    this.scene = scene;
    if (first || (!keep && this.crowded())) this.arrange();
    for (const name of VIEWS) {
      fill(
        this.views[name],
        scene.views[name].strokes,
        () => svg("path", { "vector-effect": "non-scaling-stroke" }),
        (path, [kind, d]) => put(path, { class: `dr-line dr-${kind}`, d }),
      );
    }
    if (first) this.fit();
    else this.place();
  }

  // Where each view's origin lies on the sheet, in mm, its second axis down.
  arrange() {
    const { side, top, tail } = this.scene.boxes;
    this.layout = {
      side: [0, 0],
      top: [0, -side[1] + GAP_MM + top[3]],
      tail: [side[2] + GAP_MM - tail[0], 0],
    };
  }

  crowded() {
    const { side, top, tail } = this.scene.boxes;
    const down = this.layout.top[1] - top[3] + side[1];
    const across = this.layout.tail[0] + tail[0] - side[2];
    return [down, across].some((gap) => gap < 0.4 * GAP_MM || gap > 3 * GAP_MM);
  }

  extent() {
    const boxes = VIEWS.map((name) => {
      const [u0, v0, u1, v1] = this.scene.boxes[name];
      const [x, y] = this.layout[name];
      return [x + u0, y - v1, x + u1, y - v0];
    });
    return [0, 1].map((k) => Math.min(...boxes.map((box) => box[k])))
      .concat([2, 3].map((k) => Math.max(...boxes.map((box) => box[k]))));
  }

  fit() {
    if (!this.scene) return;
    const { width, height } = this.size();
    if (!width || !height) return;
    this.arrange();
    const [x0, y0, x1, y1] = this.extent();
    this.scale = Math.min((width - 2 * EDGE_PX) / (x1 - x0), (height - 2 * EDGE_PX) / (y1 - y0));
    this.left = (width - this.scale * (x0 + x1)) / 2;
    this.top = (height - this.scale * (y0 + y1)) / 2;
    this.place();
  }

  isAllIn(width, height) {
    const [x0, y0, x1, y1] = this.extent();
    const spots = [this.left + this.scale * x0, this.top + this.scale * y0, width - this.left - this.scale * x1, height - this.top - this.scale * y1];
    return Math.min(...spots) >= 0;
  }

  size() {
    return { width: this.root.clientWidth, height: this.root.clientHeight };
  }

  zoom(factor, x, y) {
    const scale = Math.min(Math.max(this.scale * factor, WIDEST), CLOSEST);
    const real = scale / this.scale;
    this.left = x - (x - this.left) * real;
    this.top = y - (y - this.top) * real;
    this.scale = scale;
    this.place();
  }

  pan(dx, dy) {
    this.left += dx;
    this.top += dy;
    this.place();
  }

  // Brings a place into sight, for a keyboard that walks off the sheet.
  bringIn(view, at) {
    const [x, y] = this.toScreen(view, at);
    const { width, height } = this.size();
    const dx = x < EDGE_PX ? EDGE_PX - x : x > width - EDGE_PX ? width - EDGE_PX - x : 0;
    const dy = y < EDGE_PX ? EDGE_PX - y : y > height - EDGE_PX ? height - EDGE_PX - y : 0;
    if (dx || dy) this.pan(dx, dy);
  }

  toScreen(view, [u, v]) {
    const [x, y] = this.layout[view];
    return [this.left + this.scale * (x + u), this.top + this.scale * (y - v)];
  }

  toView(view, [px, py]) {
    const [x, y] = this.layout[view];
    return [(px - this.left) / this.scale - x, y - (py - this.top) / this.scale];
  }

  // The view whose box a place on the screen lies in, or lies nearest to.
  viewAt(spot) {
    let best = null;
    let least = Infinity;
    for (const name of VIEWS) {
      const [u, v] = this.toView(name, spot);
      const [u0, v0, u1, v1] = this.scene.boxes[name];
      const off = Math.hypot(Math.max(u0 - u, 0, u - u1), Math.max(v0 - v, 0, v - v1));
      if (off < least) [best, least] = [name, off];
    }
    return best;
  }

  place() {
    if (!this.layout) return;
    put(this.world, { transform: `matrix(${this.scale} 0 0 ${this.scale} ${this.left} ${this.top})` });
    for (const name of VIEWS) {
      const [x, y] = this.layout[name];
      put(this.views[name], { transform: `matrix(1 0 0 -1 ${x} ${y})` });
    }
    this.drawGrid();
    this.drawWords();
    for (const heard of this.moved) heard();
  }

  drawGrid() {
    const key = JSON.stringify([this.scale, this.left, this.top, this.layout, this.scene.boxes, this.scene.grid]);
    if (key === this.gridKey) return;
    this.gridKey = key;
    const lines = [];
    const [fine, coarse] = this.scene.grid;
    for (const name of VIEWS) {
      const [u0, v0, u1, v1] = this.scene.boxes[name];
      for (const [step, kind] of [[fine, "fine"], [coarse, "coarse"]]) {
        if (step * this.scale < NARROWEST_GRID_PX) continue;
        let d = "";
        for (let u = Math.ceil(u0 / step) * step; u <= u1 + 1e-6; u += step) {
          d += `M${this.point(name, [u, v0])}L${this.point(name, [u, v1])}`;
        }
        for (let v = Math.ceil(v0 / step) * step; v <= v1 + 1e-6; v += step) {
          d += `M${this.point(name, [u0, v])}L${this.point(name, [u1, v])}`;
        }
        lines.push([kind, d]);
      }
    }
    fill(this.grid, lines, () => svg("path"), (path, [kind, d]) => put(path, { class: `dr-${kind}`, d }));
  }

  point(view, at) {
    return this.toScreen(view, at).map((each) => each.toFixed(1)).join(" ");
  }

  drawWords() {
    const words = [];
    for (const name of VIEWS) {
      const view = this.scene.views[name];
      const [u0, , , v1] = this.scene.boxes[name];
      const [x, y] = this.toScreen(name, [u0, v1]);
      words.push({ x, y: y - 9, text: view.title, kind: "title" });
      for (const label of view.labels) {
        const [lx, ly] = this.toScreen(name, label.at);
        words.push({ x: lx, y: ly + (label.side === "below" ? 14 : -9), text: label.text, kind: "label" });
      }
    }
    fill(this.words, words, () => svg("text"), (text, word) => {
      put(text, { x: word.x.toFixed(1), y: word.y.toFixed(1), class: `dr-${word.kind}` });
      if (text.textContent !== word.text) text.textContent = word.text;
    });
  }
}
