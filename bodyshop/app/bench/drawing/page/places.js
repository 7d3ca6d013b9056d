// A rule's place on the car: its ends marked in every view that shows them, with the dimension between.

import { fill, put, svg } from "./dom.js";
import { lengthText } from "./lengths.js";

const AXES = { side: [0, 2], top: [0, 1], tail: [1, 2] };
const BEST = { side: "side", top: "top", tail: "tail", nose: "tail", underside: "top" };

export class Places {
  constructor(board, layer) {
    this.board = board;
    this.layer = layer;
    this.place = null;
    this.words = "";
    board.paper.moved.push(() => this.draw());
  }

  show(place, words = "") {
    this.place = place;
    this.words = words;
    this.draw();
  }

  clear() {
    this.show(null);
  }

  draw() {
    const { paper, scene } = this.board;
    const { place } = this;
    if (!paper.layout) return;
    const best = place ? BEST[place.view] : "";
    const shown = place && place.points.length ? Object.keys(AXES) : [];
    fill(
      this.layer,
      shown,
      () => svg("g", {}, svg("path"), svg("text", { class: "dr-place-word" })),
      (group, view) => {
        const spots = place.points.map((point) => paper.toScreen(view, AXES[view].map((axis) => point[axis])));
        const [a, b] = spots;
        const ring = ([x, y]) => `M${x - 7} ${y}A7 7 0 0 1 ${x + 7} ${y}A7 7 0 0 1 ${x - 7} ${y}Z`;
        let d = spots.map(ring).join("");
        if (b) d += `M${a.join(" ")}L${b.join(" ")}`;
        put(group.firstChild, { d, class: view === best ? "dr-place" : "dr-place dr-place-less" });
        let text = "";
        if (view === best) {
          const far = b ? Math.hypot(...[0, 1, 2].map((k) => place.points[1][k] - place.points[0][k])) : 0;
          text = this.words || (b ? lengthText(far, scene.unit) : place.label);
        }
        const word = group.lastChild;
        if (word.textContent !== text) word.textContent = text;
        const [x, y] = b ? [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] : a;
        const left = x > paper.size().width - 170;
        put(word, { x: left ? x - 12 : x + 12, y: y - 10, "text-anchor": left ? "end" : "start" });
      },
    );
  }
}
