// The row of tools over the drawing.

import { html, put } from "./dom.js";

const KINDS = [
  ["line", "Line", "L"],
  ["arc", "Arc", "A"],
  ["smooth", "Smooth", "S"],
  ["curve", "Curve", "C"],
];

export class Bar {
  constructor(board) {
    this.board = board;
    const button = (text, title, does, more = {}) =>
      html("button", { type: "button", title, onclick: does, ...more }, text);
    const tool = (name) => () => board.useToolNo(board.tool === name ? "move" : name);
    this.grid = html("select", { title: "What a dragged place is brought to", onchange: () => this.gridChosen() });
    this.limits = html("input", { type: "checkbox", checked: true, onchange: () => (board.toLimits = this.limits.checked) });
    this.measure = button("Measure", "Between two places: take one, then the other", tool("measure"), { "aria-pressed": "false" });
    this.add = button("Add point", "On the outline where you press next (double press, or Insert on a point)", tool("add"), { "aria-pressed": "false" });
    this.kinds = KINDS.map(([to, text, key]) =>
      button(text, `Make the edge to this point so (${key})`, () => this.of((handle) => board.act("convert", { handle: handle.id, to })), { disabled: true }));
    this.round = button("Round", "Round this corner (R)", () => this.of((handle) => board.act("round", { handle: handle.id })), { disabled: true });
    this.drop = button("Delete", "Take this point away (Delete)", () => this.of((handle) => board.act("delete", { handle: handle.id })), { disabled: true });
    this.type = button("Type", "Type its numbers (Enter)", () => this.of((handle) => board.openValue(handle)), { disabled: true });
    this.space = button("In space", "The car in space, and its cross-sections", () => board.inSpace(board.space.hidden), { "aria-pressed": "false" });
    const middle = () => [board.paper.size().width / 2, board.paper.size().height / 2];
    this.element = html(
      "div",
      { class: "dr-bar", role: "toolbar", "aria-label": "Drawing tools" },
      html("label", {}, "Grid ", this.grid),
      html("label", { class: "dr-check" }, this.limits, " Limits"),
      html("span", { class: "dr-set", role: "group", "aria-label": "Tools" }, this.measure, this.add),
      html("span", { class: "dr-set", role: "group", "aria-label": "The chosen point" }, ...this.kinds, this.round, this.drop, this.type),
      html(
        "span",
        { class: "dr-set", role: "group", "aria-label": "What is in sight" },
        button("−", "Smaller (−)", () => board.paper.zoom(0.8, ...middle()), { "aria-label": "Smaller" }),
        button("+", "Larger (+)", () => board.paper.zoom(1.25, ...middle()), { "aria-label": "Larger" }),
        button("All", "All of it (0)", () => board.paper.fit()),
        this.space,
      ),
    );
  }

  of(does) {
    const handle = this.board.handles.get(this.board.handles.chosen);
    if (handle) does(handle);
  }

  steps(steps) {
    const names = steps.map((step) => step.id).join();
    if (names === this.names) return;
    this.names = names;
    const sorted = [...steps].sort((a, b) => a.mm - b.mm);
    this.all = sorted;
    this.grid.replaceChildren(
      html("option", { value: "" }, "off"),
      ...sorted.map((step) => html("option", { value: step.id }, step.id)),
    );
    this.grid.value = sorted[1].id;
    this.gridChosen();
  }

  gridChosen() {
    this.board.gridStep = this.all.find((step) => step.id === this.grid.value) || null;
  }

  update(handle) {
    const { board } = this;
    const { tool } = board;
    put(this.measure, { "aria-pressed": String(tool === "measure") });
    put(this.add, { "aria-pressed": String(tool === "add") });
    put(this.space, { "aria-pressed": String(!board.space.hidden) });
    const point = handle?.kind === "point";
    for (const each of [...this.kinds, this.round]) each.disabled = !point;
    this.drop.disabled = !handle || !["point", "rounding"].includes(handle.kind);
    this.type.disabled = !handle || Boolean(handle.fixed);
  }
}
