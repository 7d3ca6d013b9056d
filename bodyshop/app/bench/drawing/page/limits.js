// Where rules are just met: thin lines beside a part that is moved, which it can be brought to.

import { fill, put, svg } from "./dom.js";
import { lengthText } from "./lengths.js";

const CATCH_PX = 7;

export class Limits {
  constructor(board, layer) {
    this.board = board;
    this.layer = layer;
    this.shown = []; // { view, axis, at, clause, title, side }
    this.handle = "";
    board.paper.moved.push(() => this.draw());
  }

  show(handle, lines) {
    this.handle = handle;
    this.shown = lines;
    this.draw();
  }

  clear() {
    this.show("", []);
  }

  // Brings a place to a limit that is near on the screen. `exact` tells which axes were.
  pull(handle, to) {
    const exact = [false, false];
    const place = [...to];
    let caught = null;
    if (this.board.toLimits && this.handle === handle.id) {
      for (const line of this.shown) {
        if (line.view !== handle.view || exact[line.axis]) continue;
        const off = line.at - to[line.axis];
        if (Math.abs(off) * this.board.paper.scale > CATCH_PX) continue;
        if (handle.way) {
          const share = handle.way[line.axis];
          if (Math.abs(share) < 0.2) continue;
          place[0] += (off / share) * handle.way[0];
          place[1] += (off / share) * handle.way[1];
          exact[0] = exact[1] = true;
        } else {
          place[line.axis] = line.at;
          exact[line.axis] = true;
        }
        caught = line;
      }
    }
    return { to: place, exact, caught };
  }

  draw() {
    const { paper } = this.board;
    if (!paper.layout) return;
    const { width } = paper.size();
    fill(
      this.layer,
      this.spread(),
      () => svg("g", {}, svg("path", { class: "dr-leader" }), svg("path", { class: "dr-ghost" }), svg("text", { class: "dr-ghost-word" })),
      (group, line) => {
        const [u0, v0, u1, v1] = paper.scene.boxes[line.view];
        const over = 6;
        const ends = line.axis === 0
          ? [[line.at, v0 - over], [line.at, v1 + over]]
          : [[u0 - over, line.at], [u1 + over, line.at]];
        const [a, b] = ends.map((end) => paper.toScreen(line.view, end));
        const text = group.lastChild;
        const words = `${line.clauses}: ${lengthText(line.value, paper.scene.unit)}`;
        if (text.textContent !== words) text.textContent = words;
        let leader = "";
        if (line.axis === 0) {
          const last = b[0] > width - 90;
          put(text, { x: b[0] + (last ? -4 : 4), y: Math.max(b[1] - 4 - 12 * line.row, 9), "text-anchor": last ? "end" : "start" });
        } else {
          // A legend over the nose, where there is room, each word tied to its line.
          const [x, y] = paper.toScreen(line.view, [u0, v1]);
          const word = y + 14 + 14 * line.row;
          put(text, { x: x + 8, y: word, "text-anchor": "start" });
          leader = `M${a.join(" ")}L${x + 5} ${word - 4}`;
        }
        put(group.firstChild, { d: leader });
        put(group.children[1], { d: `M${a.join(" ")}L${b.join(" ")}` });
      },
    );
  }

  // Lines that lie on each other are told as one, and their words are moved apart.
  spread() {
    const { paper } = this.board;
    const spot = (line) => paper.toScreen(line.view, line.axis === 0 ? [line.at, 0] : [0, line.at])[line.axis];
    const sorted = this.shown.map((line) => ({ ...line, px: spot(line) })).sort((a, b) => a.px - b.px);
    const told = [];
    for (const line of sorted) {
      const same = told.find((each) =>
        each.view === line.view && each.axis === line.axis && Math.abs(each.px - line.px) < 1 && each.value === line.value);
      if (same) same.clauses += `, ${line.clause}`;
      else told.push({ ...line, clauses: line.clause });
    }
    const rows = {};
    let edge = -Infinity;
    let row = 0;
    for (const line of told) {
      if (line.axis === 0) {
        row = line.px - edge < 74 ? (row + 1) % 3 : 0;
        edge = line.px;
        line.row = row;
      } else {
        rows[line.view] = (rows[line.view] ?? -1) + 1;
        line.row = rows[line.view];
      }
    }
    return told;
  }
}
