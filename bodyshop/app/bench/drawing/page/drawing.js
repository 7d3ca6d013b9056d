// The drawing of a car: what is shown, what is held, and what is asked of the bench.
//
// mountDrawing(element, tell) puts it into an element. `tell(kind, body)` hands a movement to the bench.

import { Bar } from "./bar.js";
import { html, put, svg } from "./dom.js";
import { Handles } from "./handles.js";
import { Hold } from "./hold.js";
import { Limits } from "./limits.js";
import { Measure } from "./measure.js";
import { Paper } from "./paper.js";
import { Places } from "./places.js";
import { Solid } from "./solid.js";
import { ValueBox } from "./value.js";

const CATCH_PX = 12;
const SETTLED_MS = 500;

export function mountDrawing(element, tell) {
  return new Board(element, tell);
}

class Board {
  constructor(element, tell) {
    this.scene = null;
    this.tool = "move";
    this.tell = tell;
    this.gridStep = null;
    this.refusal = "";
    this.noted = "";
    this.toLimits = true;
    this.root = svg("svg", {
      class: "dr-sheet",
      tabindex: "0",
      role: "group",
      "aria-label": "Drawing of the car from the side, from above and from the tail. Tab goes from handle to handle.",
    });
    const layer = (name) => svg("g", { class: name });
    this.paper = new Paper(this.root);
    const [ghosts, rubber, places, holds, measured] = ["dr-ghosts", "dr-rubber", "dr-places", "dr-handles", "dr-measured"].map(layer);
    this.rubber = svg("path", { class: "dr-rubber-line", "aria-hidden": "true" });
    rubber.append(this.rubber);
    for (const each of [ghosts, rubber, places, measured]) put(each, { "aria-hidden": "true" });
    this.root.append(rubber, places, measured, holds, ghosts);
    this.handles = new Handles(this.paper, holds, {
      focus: (handle) => this.focused(handle),
      key: (handle, event) => this.hold.handleKey(handle, event),
    });
    this.limits = new Limits(this, ghosts);
    this.places = new Places(this, places);
    this.measure = new Measure(this, measured);
    this.told = html("p", { class: "dr-told", role: "status", "aria-live": "polite" });
    this.bar = new Bar(this);
    this.value = new ValueBox(this);
    this.solid = new Solid((name, body) => this.tell("ask", { name, ...body }));
    this.space = html("div", { class: "dr-space", hidden: true });
    this.frame = html("div", { class: "dr-frame" }, this.root, this.value.element, this.space);
    element.classList.add("dr-drawing");
    // Longer words grow up over the sheet: the sheet keeps its size while something is held.
    element.replaceChildren(this.bar.element, this.frame, html("div", { class: "dr-foot" }, this.told));
    this.hold = new Hold(this);
    this.shape = [0, 0];
    new ResizeObserver(() => this.resized()).observe(this.root);
  }

  resized() {
    const { width, height } = this.paper.size();
    const [w, h] = this.shape;
    this.shape = [width, height];
    if (!this.scene) return;
    // All of it stays in sight if it was; else its middle stays in the middle.
    if (!w || !h || this.paper.isAllIn(w, h)) this.paper.fit();
    else this.paper.pan((width - w) / 2, (height - h) / 2);
  }

  // ------------------------------------------------------------ what the bench says

  show(scene) {
    const held = Boolean(this.hold.grip?.handle);
    this.scene = scene;
    this.bar.steps(scene.steps);
    this.paper.show(scene, { keep: held });
    if (!held) this.handles.offset = null;
    this.handles.show(scene);
    this.drawRubber();
    this.places.draw();
    this.measure.draw();
    const chosen = this.handles.get(this.handles.chosen);
    if (chosen && !this.refusal) this.sayHandle(chosen);
    this.refusal = "";
    this.noted = "";
    this.bar.update(chosen);
    this.solid.unit = scene.unit;
    this.solid.refresh();
    this.hold.answered();
    // What a movement has moved may have moved limits too.
    clearTimeout(this.asking);
    if (chosen && !held) this.asking = setTimeout(() => this.askLimits(), SETTLED_MS);
  }

  refuse(message) {
    this.refusal = message;
    if (message) {
      this.say(message, true);
      if (!this.hold.grip?.handle) this.handles.offset = null;
      this.handles.place();
    }
    this.hold.answered();
  }

  // What else a movement has moved, as a sentence.
  moved(note) {
    this.noted = note || "";
  }

  // An answer to what was asked with `tell("ask", ...)`.
  answer(message) {
    if (message.name === "limits" && message.lines && message.handle === this.handles.chosen) {
      this.limits.show(message.handle, message.lines);
    } else if (message.name === "solid" || message.name === "section") {
      this.solid.answer(message);
    }
  }

  // Shows the car in space in another element of the page; null brings it back to where it was.
  showSolid(element) {
    if (element) this.solid.mount(element);
    else if (this.space.hidden) this.solid.hide();
    else this.solid.mount(this.space);
  }

  inSpace(on) {
    this.space.hidden = !on;
    if (on) this.solid.mount(this.space);
    else this.solid.hide();
    this.bar.update(this.handles.get(this.handles.chosen));
  }

  showPlace(place, words) {
    this.places.show(place, words);
  }

  clearPlace() {
    this.places.clear();
  }

  say(text, bad = false) {
    this.told.classList.toggle("dr-bad", bad);
    if (this.told.textContent !== text) this.told.textContent = text;
  }

  sayHandle(handle) {
    const more = handle.fixed || this.noted;
    this.say(`${handle.label}: ${this.handles.numbers(handle)}${more ? `. ${more}` : ""}`);
  }

  // ------------------------------------------------------------ what the hand does

  focused(handle) {
    this.choose(handle.id);
    this.paper.bringIn(handle.view, handle.at);
  }

  choose(id) {
    const handle = this.handles.get(id);
    if (id !== this.handles.chosen) {
      this.handles.choose(id);
      this.limits.clear();
      this.refusal = "";
      if (handle) this.askLimits();
    }
    if (handle) this.sayHandle(handle);
    else this.say("");
    this.bar.update(handle);
  }

  askLimits() {
    const { chosen } = this.handles;
    if (chosen && !this.hold.grip?.moved) this.tell("ask", { name: "limits", handle: chosen });
  }

  underWay(handle, caught) {
    this.handles.place();
    this.drawRubber();
    const numbers = handle.numbers.map((number) => {
      const at = this.handles.offset.at;
      const moved = number.slope[0] * (at[0] - handle.at[0]) + number.slope[1] * (at[1] - handle.at[1]);
      return { ...number, mm: number.mm + moved };
    });
    const bulges = handle.kind === "bulge";
    const words = bulges ? handle.label : `${handle.label}: ${this.handles.numbers({ ...handle, numbers })}`;
    if (!this.refusal) this.say(caught ? `${words} (on the limit of ${caught.clause} ${caught.title})` : words);
  }

  drawRubber() {
    const { offset } = this.handles;
    const handle = offset ? this.handles.get(offset.id) : null;
    if (!handle) {
      put(this.rubber, { d: "" });
      return;
    }
    const [x, y] = this.paper.toScreen(handle.view, offset.at);
    const ends = this.handles.neighbours(handle).concat(handle.tied ? [handle.tied] : []);
    put(this.rubber, {
      d: ends.map((end) => `M${this.paper.point(handle.view, end)}L${x.toFixed(1)} ${y.toFixed(1)}`).join(""),
    });
  }

  letGo(handle, moved) {
    if (!moved) return;
    // The handle waits where it was put until the bench has answered.
    setTimeout(() => {
      if (this.hold.grip) return;
      this.handles.offset = null;
      this.handles.place();
      this.drawRubber();
    }, 1500);
  }

  act(name, body) {
    this.tell("act", { name, ...body });
  }

  hover(spot) {
    if (!this.scene) return;
    const handle = this.handles.nearest(spot, CATCH_PX);
    this.root.dataset.over = this.tool !== "move" ? "tool" : handle ? "handle" : "";
  }

  useTool(spot, handle) {
    if (this.tool === "measure") {
      const view = handle ? handle.view : this.paper.viewAt(spot);
      this.measure.take(view, handle ? handle.at : this.paper.toView(view, spot));
    } else if (this.tool === "add") {
      this.addPoint(spot);
    }
  }

  addPoint(spot) {
    const view = this.paper.viewAt(spot);
    if (view === "tail") {
      this.refuse("Points are added in the side view and in the top view.");
      return;
    }
    this.act("add", {
      view,
      at: this.paper.toView(view, spot),
      reach: CATCH_PX / this.paper.scale,
      snap: this.gridStep?.id || "",
    });
    this.useToolNo("move");
  }

  useToolNo(tool) {
    this.tool = tool;
    if (tool !== "measure") this.measure.clear();
    this.root.dataset.tool = tool;
    this.bar.update(this.handles.get(this.handles.chosen));
  }

  openValue(handle) {
    if (handle.fixed) this.refuse(handle.fixed);
    else this.value.open(handle);
  }

  escape() {
    if (this.tool !== "move") this.useToolNo("move");
    else {
      this.choose("");
      this.root.focus({ preventScroll: true });
    }
  }
}
