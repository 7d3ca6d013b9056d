// Pointer and keys: dragging, panning, pinching, nudging. The handle moves at once here; the rest of the car
// follows when the bench has answered. Of several places on the way only the latest is asked for.

const MOUSE_PX = 11;
const FINGER_PX = 22;
const STILL_PX = 3;
const LINGER_MS = 900;

export class Hold {
  constructor(board) {
    this.board = board;
    this.pointers = new Map();
    this.grip = null; // the handle that is held
    this.pinch = null;
    this.steps = 0;
    this.step = null; // the step of the history that nudges go on with
    this.waiting = null; // nudges gathered while the bench works
    this.busy = 0;
    const { root } = board;
    root.addEventListener("pointerdown", (event) => this.down(event));
    root.addEventListener("pointermove", (event) => this.move(event));
    root.addEventListener("pointerup", (event) => this.up(event));
    root.addEventListener("pointercancel", (event) => this.up(event, { lost: true }));
    root.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    root.addEventListener("dblclick", (event) => this.twice(event));
    root.addEventListener("keydown", (event) => this.sheetKey(event));
  }

  spot(event) {
    const box = this.board.root.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  // ------------------------------------------------------------ pointer

  down(event) {
    if (event.button > 1 || !this.board.scene) return;
    const spot = this.spot(event);
    this.board.root.setPointerCapture(event.pointerId);
    this.pointers.set(event.pointerId, spot);
    event.preventDefault();
    if (this.pointers.size === 2) {
      this.letGo({ lost: true });
      this.beginPinch();
      return;
    }
    const reach = event.pointerType === "touch" ? FINGER_PX : MOUSE_PX;
    const handle = event.button === 0 ? this.board.handles.nearest(spot, reach) : null;
    if (this.board.tool !== "move") {
      this.grip = { tool: true, from: spot, last: spot, catch: handle };
      return;
    }
    if (handle) {
      this.board.choose(handle.id);
      this.board.handles.focus(handle.id);
      this.grip = { handle, from: spot, last: spot, moved: false, step: this.newStep(), at: handle.at };
    } else {
      this.board.root.focus({ preventScroll: true });
      this.board.choose("");
      this.grip = { pan: true, from: spot, last: spot, moved: false };
    }
  }

  newStep() {
    this.steps += 1;
    return `${Date.now().toString(36)}-${this.steps}`;
  }

  beginPinch() {
    const [a, b] = [...this.pointers.values()];
    this.pinch = { apart: Math.hypot(a[0] - b[0], a[1] - b[1]), middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
  }

  move(event) {
    const spot = this.spot(event);
    if (!this.pointers.has(event.pointerId)) {
      this.board.hover(spot);
      return;
    }
    this.pointers.set(event.pointerId, spot);
    if (this.pinch && this.pointers.size === 2) {
      const before = this.pinch;
      this.beginPinch();
      const { paper } = this.board;
      if (before.apart > 0) paper.zoom(this.pinch.apart / before.apart, ...this.pinch.middle);
      paper.pan(this.pinch.middle[0] - before.middle[0], this.pinch.middle[1] - before.middle[1]);
      return;
    }
    const grip = this.grip;
    if (!grip) return;
    if (!grip.moved && Math.hypot(spot[0] - grip.from[0], spot[1] - grip.from[1]) < STILL_PX) return;
    grip.moved = true;
    if (grip.tool || grip.pan) {
      this.board.paper.pan(spot[0] - grip.last[0], spot[1] - grip.last[1]);
      grip.last = spot;
    } else {
      this.drag(grip, spot);
    }
  }

  // `to` is where the pointer is, as the handle can go there; `shown` is on the grid.
  drag(grip, spot) {
    const { board } = this;
    const handle = grip.handle;
    if (handle.fixed) {
      board.refuse(handle.fixed);
      return;
    }
    const { scale } = board.paper;
    const delta = [(spot[0] - grip.from[0]) / scale, -(spot[1] - grip.from[1]) / scale];
    const free = [grip.at[0] + delta[0], grip.at[1] + delta[1]];
    const { to, exact, caught } = board.limits.pull(handle, along(handle, grip.at, free));
    grip.to = to;
    board.handles.offset = { id: handle.id, at: this.onGrid(handle, grip.at, to, exact) };
    board.underWay(handle, caught);
    const snap = { step: board.gridStep?.id || "", exact };
    board.tell("drag", { handle: handle.id, x: to[0], y: to[1], snap, step: grip.step });
  }

  onGrid(handle, from, to, exact) {
    const step = this.board.gridStep?.mm || 0;
    if (!step || handle.way) return to;
    return to.map((value, axis) => {
      if (exact[axis]) return value;
      if (Math.abs(value - from[axis]) < step / 2) return from[axis];
      return Math.round(value / step) * step;
    });
  }

  up(event, { lost = false } = {}) {
    const spot = this.pointers.get(event.pointerId);
    this.pointers.delete(event.pointerId);
    if (this.pinch) {
      if (this.pointers.size < 2) this.pinch = null;
      this.grip = null;
      return;
    }
    const grip = this.grip;
    if (grip?.tool && !grip.moved && !lost && spot) this.board.useTool(spot, grip.catch);
    this.letGo({ lost });
  }

  letGo() {
    const grip = this.grip;
    this.grip = null;
    if (grip?.handle) this.board.letGo(grip.handle, grip.moved);
  }

  // Escape while something is held: back to where it was.
  giveUp() {
    const grip = this.grip;
    if (!grip?.handle) return false;
    if (grip.moved && !grip.handle.fixed) {
      this.board.tell("drag", { handle: grip.handle.id, x: grip.at[0], y: grip.at[1], snap: "", step: grip.step });
    }
    this.letGo();
    return true;
  }

  wheel(event) {
    event.preventDefault();
    if (!this.board.scene) return;
    const lines = event.deltaMode === 1 ? 16 : 1;
    if (event.shiftKey) this.board.paper.pan(-event.deltaY * lines, 0);
    else this.board.paper.zoom(Math.exp(-event.deltaY * lines * 0.0016), ...this.spot(event));
  }

  twice(event) {
    if (!this.board.scene || this.board.tool !== "move") return;
    const spot = this.spot(event);
    const handle = this.board.handles.nearest(spot, MOUSE_PX);
    if (handle) this.board.openValue(handle);
    else this.board.addPoint(spot);
  }

  // ------------------------------------------------------------ keys

  sheetKey(event) {
    const { board } = this;
    if (event.key === "Escape" && this.giveUp()) {
      event.preventDefault();
      return;
    }
    if (event.ctrlKey || event.metaKey || event.altKey || !board.scene) return;
    const { width, height } = board.paper.size();
    const middle = [width / 2, height / 2];
    const does = {
      "+": () => board.paper.zoom(1.25, ...middle),
      "=": () => board.paper.zoom(1.25, ...middle),
      "-": () => board.paper.zoom(0.8, ...middle),
      0: () => board.paper.fit(),
    };
    if (event.target === board.root) {
      Object.assign(does, {
        ArrowLeft: () => board.paper.pan(40, 0),
        ArrowRight: () => board.paper.pan(-40, 0),
        ArrowUp: () => board.paper.pan(0, 40),
        ArrowDown: () => board.paper.pan(0, -40),
        Escape: () => board.escape(),
      });
    }
    if (!does[event.key]) return;
    event.preventDefault();
    does[event.key]();
  }

  handleKey(handle, event) {
    const { board } = this;
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const kinds = { l: "line", a: "arc", s: "smooth", c: "curve" };
    if (arrows[event.key]) this.nudge(handle, arrows[event.key], event.shiftKey ? 1 : 0);
    else if (event.key === "Enter" || event.key === " ") {
      if (board.tool === "measure") board.measure.take(handle.view, handle.at);
      else board.openValue(handle);
    } else if (event.key === "Delete" || event.key === "Backspace") board.act("delete", { handle: handle.id });
    else if (event.key === "Insert") board.act("insert", { handle: handle.id });
    else if (kinds[event.key] && handle.kind === "point") board.act("convert", { handle: handle.id, to: kinds[event.key] });
    else if (event.key === "r" && handle.kind === "point") board.act("round", { handle: handle.id });
    else if (event.key === "Escape") {
      if (!this.giveUp()) board.escape();
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }

  nudge(handle, by, size) {
    if (handle.fixed) {
      this.board.refuse(handle.fixed);
      return;
    }
    const now = performance.now();
    const kept = this.step;
    const goesOn = kept && kept.handle === handle.id && now - kept.at < LINGER_MS;
    this.step = { handle: handle.id, at: now, id: goesOn ? kept.id : this.newStep() };
    const snap = this.board.scene.steps[size].id;
    const same = this.waiting && this.waiting.handle === handle.id && this.waiting.snap === snap;
    if (this.waiting && !same) this.flush();
    if (!this.waiting) this.waiting = { handle: handle.id, by: [0, 0], snap, step: this.step.id };
    this.waiting.by = [this.waiting.by[0] + by[0], this.waiting.by[1] + by[1]];
    if (!this.busy || now - this.busy > 1000) this.flush();
  }

  flush() {
    const asked = this.waiting;
    this.waiting = null;
    if (!asked || !(asked.by[0] || asked.by[1])) return;
    this.busy = performance.now();
    this.board.act("nudge", asked);
  }

  // The bench has answered.
  answered() {
    this.busy = 0;
    if (this.waiting) this.flush();
  }
}


// A handle that slides goes to the nearest place on its line.
export function along(handle, from, to) {
  if (!handle.way) return to;
  const [wu, wv] = handle.way;
  const far = (to[0] - from[0]) * wu + (to[1] - from[1]) * wv;
  return [from[0] + far * wu, from[1] + far * wv];
}
