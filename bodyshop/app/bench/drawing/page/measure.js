// Measuring between two places of one view: along, up and straight.

import { put, svg } from "./dom.js";
import { lengthText } from "./lengths.js";

const NAMES = { side: ["along", "up"], top: ["along", "across"], tail: ["across", "up"] };

export class Measure {
  constructor(board, layer) {
    this.board = board;
    this.layer = layer;
    this.places = [];
    this.view = "";
    this.line = svg("path", { class: "dr-measure" });
    this.legs = svg("path", { class: "dr-measure-legs" });
    this.text = svg("text", { class: "dr-measure-word" });
    layer.append(this.legs, this.line, this.text);
    board.paper.moved.push(() => this.draw());
  }

  take(view, at) {
    if (this.places.length !== 1 || view !== this.view) this.places = [];
    this.view = view;
    this.places.push(at);
    this.draw();
    this.board.say(this.places.length === 1 ? "The first place is taken: now the second." : this.words());
  }

  clear() {
    this.places = [];
    this.draw();
  }

  words() {
    const [a, b] = this.places;
    const { unit } = this.board.scene;
    const [along, up] = NAMES[this.view];
    const d = [b[0] - a[0], b[1] - a[1]];
    return `${along} ${lengthText(Math.abs(d[0]), unit)}, ${up} ${lengthText(Math.abs(d[1]), unit)}, straight ${lengthText(Math.hypot(...d), unit)}`;
  }

  draw() {
    const { paper } = this.board;
    const on = this.places.length > 0 && paper.layout;
    this.layer.style.display = on ? "" : "none";
    if (!on) return;
    const spots = this.places.map((place) => paper.toScreen(this.view, place));
    const [a, b = a] = spots;
    const cross = ([x, y]) => `M${x - 5} ${y}H${x + 5}M${x} ${y - 5}V${y + 5}`;
    put(this.line, { d: `${cross(a)}${cross(b)}M${a.join(" ")}L${b.join(" ")}` });
    put(this.legs, { d: `M${a.join(" ")}H${b[0]}V${b[1]}` });
    const word = this.places.length === 2 ? this.words() : "";
    if (this.text.textContent !== word) this.text.textContent = word;
    const room = paper.size().width;
    const x = Math.min(Math.max((a[0] + b[0]) / 2, 150), Math.max(room - 150, 150));
    put(this.text, { x, y: Math.max(Math.min(a[1], b[1]) - 10, 14), "text-anchor": "middle" });
  }
}
