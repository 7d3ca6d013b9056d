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
    const seen = new Map();
    fill(
      this.layer,
      this.shown,
      () => svg("g", {}, svg("path", { class: "dr-ghost" }), svg("text", { class: "dr-ghost-word" })),
      (group, line) => {
        const [u0, v0, u1, v1] = paper.scene.boxes[line.view];
        const over = 6;
        const ends = line.axis === 0
          ? [[line.at, v0 - over], [line.at, v1 + over]]
          : [[u0 - over, line.at], [u1 + over, line.at]];
        const [a, b] = ends.map((end) => paper.toScreen(line.view, end));
        put(group.firstChild, { d: `M${a.join(" ")}L${b.join(" ")}` });
        const key = `${line.view}${line.axis}`;
        const row = seen.get(key) || 0;
        seen.set(key, row + 1);
        const text = group.lastChild;
        text.textContent = `${line.clause} ${line.title}: ${lengthText(line.value, paper.scene.unit)}`;
        put(text, line.axis === 0
          ? { x: b[0] + 4, y: b[1] - 4 - 13 * (row % 4), "text-anchor": b[0] > paper.size().width - 170 ? "end" : "start" }
          : { x: b[0] + 4, y: b[1] - 3, "text-anchor": b[0] > paper.size().width - 170 ? "end" : "start" });
      },
    );
  }
}
