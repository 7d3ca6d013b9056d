// The car in space: turned by mouse, finger or arrow keys, and cut open at a station.

import { html, put, svg } from "./dom.js";
import { lengthText } from "./lengths.js";

const NEAR = 0.15;
const FAR = 6;
const PATIENCE_MS = 4000; // for an answer that does not come
const TURN = 0.008; // rad a px
const KEY_TURN = Math.PI / 24;

export class Solid {
  // `ask(name, body)` asks the bench for "solid" or "section".
  constructor(ask) {
    this.ask = ask;
    this.solid = null;
    this.around = -0.7; // where the eye stands: about the upright axis, over the track, how far
    this.over = 0.42;
    this.far = 1;
    this.asked = { solid: -PATIENCE_MS, section: -PATIENCE_MS }; // when
    this.again = { solid: false, section: false };
    this.station = null;
    this.unit = "mm";
    this.visible = false;
    this.words = html("p", { class: "dr-solid-words", role: "status", "aria-live": "polite" });
    this.slider = html("input", {
      type: "range", min: 0, max: 100, step: 0.5, "aria-label": "Station of the section, from the nose",
      oninput: () => this.slid(),
    });
    this.cut = html("input", { type: "checkbox", onchange: () => this.draw() });
    this.flat = svg("svg", { class: "dr-section", role: "img", "aria-label": "The cross-section at the station" });
    this.canvas = html("canvas", {
      class: "dr-canvas", tabindex: "0", role: "img",
      "aria-label": "The car in space. Arrow keys turn it, plus and minus bring it nearer and further, 0 puts it back.",
      onkeydown: (event) => this.key(event),
      onpointerdown: (event) => this.down(event),
      onpointermove: (event) => this.move(event),
      onpointerup: (event) => this.up(event),
      onpointercancel: (event) => this.up(event),
    });
    this.canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.zoom(Math.exp(event.deltaY * 0.0012));
    }, { passive: false });
    this.pointers = new Map();
    this.holder = html("div", { class: "dr-canvas-holder" }, this.canvas);
    this.element = html(
      "div",
      { class: "dr-solid" },
      this.holder,
      html(
        "div",
        { class: "dr-solid-foot" },
        html("label", { class: "dr-station" }, "Station ", this.slider),
        html("label", { class: "dr-check" }, this.cut, " Cut open there"),
        this.words,
      ),
      this.flat,
    );
    new ResizeObserver(() => this.draw()).observe(this.holder);
    document.documentElement.addEventListener("lightchange", () => this.paint());
  }

  mount(parent) {
    parent.replaceChildren(this.element);
    this.visible = true;
    this.paint();
    this.refresh();
  }

  hide() {
    this.visible = false;
    this.element.remove();
  }

  // The car has changed, or this has come into sight.
  refresh() {
    if (!this.visible || !this.element.getClientRects().length) return;
    this.want("solid");
    this.want("section");
  }

  want(name) {
    if (performance.now() - this.asked[name] < PATIENCE_MS) {
      this.again[name] = true;
      return;
    }
    this.asked[name] = performance.now();
    this.ask(name, name === "section" ? { x: this.station ?? 0 } : {});
  }

  answer(message) {
    const { name } = message;
    this.asked[name] = -PATIENCE_MS;
    if (name === "solid" && message.solid) this.show(message.solid);
    else if (message.section) this.showSection(message.section);
    if (this.again[name]) {
      this.again[name] = false;
      this.want(name);
    }
  }

  async three() {
    if (!this.THREE) this.THREE = (await import("nicegui-scene")).THREE;
    return this.THREE;
  }

  async show(solid) {
    const THREE = await this.three();
    const first = !this.solid;
    this.solid = solid;
    const [x0, , , x1] = solid.box;
    put(this.slider, { min: x0, max: x1 });
    if (this.station === null) {
      this.station = x0 + 0.75 * (x1 - x0);
      this.slider.value = this.station;
      this.want("section");
    }
    if (!this.renderer && !this.begin(THREE)) return;
    this.build(THREE);
    if (first) this.paint();
    else this.draw();
  }

  begin(THREE) {
    try {
      this.renderer = new THREE.WebGLRenderer({ canvas: this.canvas, antialias: true, alpha: true });
    } catch {
      this.words.textContent = "This browser cannot show things in space; the section below still follows.";
      return false;
    }
    this.renderer.localClippingEnabled = true;
    this.scene = new THREE.Scene();
    this.camera = new THREE.PerspectiveCamera(28, 1, 5, 6000);
    this.light = new THREE.DirectionalLight(0xffffff, 2.2);
    this.scene.add(new THREE.HemisphereLight(0xffffff, 0x8a8270, 1.5), this.light);
    this.plane = new THREE.Plane(new THREE.Vector3(-1, 0, 0), 0);
    this.body = new THREE.Mesh(
      new THREE.BufferGeometry(),
      new THREE.MeshStandardMaterial({ roughness: 0.85, side: THREE.DoubleSide }),
    );
    this.face = new THREE.Mesh(
      new THREE.BufferGeometry(),
      new THREE.MeshStandardMaterial({ roughness: 0.9, side: THREE.DoubleSide }),
    );
    this.rim = new THREE.LineSegments(new THREE.BufferGeometry(), new THREE.LineBasicMaterial());
    this.metal = new THREE.MeshStandardMaterial({ roughness: 0.4, metalness: 0.3, color: 0x9a9a94 });
    this.dark = new THREE.MeshStandardMaterial({ roughness: 0.9, color: 0x3a3a38 });
    this.parts = new THREE.Group();
    this.floor = new THREE.Mesh(
      new THREE.PlaneGeometry(1, 1),
      new THREE.MeshBasicMaterial({ transparent: true, opacity: 0.25, side: THREE.DoubleSide, depthWrite: false }),
    );
    this.scene.add(this.body, this.parts, this.floor, this.face, this.rim);
    return true;
  }

  build(THREE) {
    const { solid } = this;
    const geometry = this.body.geometry;
    geometry.setAttribute("position", new THREE.BufferAttribute(new Float32Array(bytes(solid.points)), 3));
    geometry.setAttribute("normal", new THREE.BufferAttribute(new Float32Array(bytes(solid.normals)), 3));
    geometry.setIndex(new THREE.BufferAttribute(new Uint32Array(bytes(solid.faces)), 1));
    geometry.computeBoundingSphere();
    for (const part of this.parts.children) part.geometry.dispose();
    this.parts.clear();
    for (const wheel of solid.wheels) {
      const length = wheel.y1 - wheel.y0;
      const round = new THREE.CylinderGeometry(wheel.radius, wheel.radius, length, wheel.radius > 8 ? 48 : 20);
      const part = new THREE.Mesh(round, wheel.kind === "tread" ? this.dark : this.metal);
      part.position.set(wheel.x, (wheel.y0 + wheel.y1) / 2, wheel.z);
      this.parts.add(part);
    }
    for (const eye of solid.eyes) {
      const part = new THREE.Mesh(new THREE.TorusGeometry(eye.radius, eye.wire, 10, 28), this.metal);
      part.rotation.y = Math.PI / 2; // the line runs through it along the car
      part.position.set(...eye.at);
      this.parts.add(part);
    }
    this.floor.visible = Boolean(solid.track);
    if (solid.track) {
      const [nx, nz, offset] = solid.track;
      const [x0, y0, , x1, y1] = solid.box;
      const x = (x0 + x1) / 2;
      this.floor.position.set(x, (y0 + y1) / 2, (offset - nx * x) / nz);
      this.floor.scale.set((x1 - x0) * 1.25, (y1 - y0) * 2.6, 1);
      this.floor.rotation.set(0, Math.atan2(nx, nz), 0);
    }
  }

  slid() {
    this.station = Number(this.slider.value);
    this.plainWords();
    this.want("section");
    this.draw();
  }

  plainWords(area) {
    if (this.station === null) return;
    const where = `${lengthText(this.station, this.unit)} from the nose`;
    put(this.slider, { "aria-valuetext": where });
    this.words.textContent = area === undefined ? where : `${where}: ${area} of wood`;
  }

  showSection(section) {
    this.section = section;
    const area = this.unit === "in"
      ? `${(section.area / 645.16).toFixed(2)} sq in`
      : `${Math.round(section.area)} mm²`;
    this.plainWords(area);
    const [y0, z0, y1, z1] = section.box;
    put(this.flat, { viewBox: `${y0 - 2} ${-z1 - 2} ${y1 - y0 + 4} ${z1 - z0 + 4}` });
    const d = section.polygons.flat().map((ring) => `M${ring.map(([y, z]) => `${y} ${-z}`).join("L")}Z`).join("");
    this.flat.replaceChildren(
      svg("path", { class: "dr-section-wood", d, "vector-effect": "non-scaling-stroke" }),
      svg("path", { class: "dr-centre dr-line", d: `M0 ${-z1 - 2}V${-z0 + 2}`, "vector-effect": "non-scaling-stroke" }),
    );
    this.fillFace();
    this.draw();
  }

  // The wood that the cut lays open.
  fillFace() {
    const { THREE, section } = this;
    if (!THREE || !this.renderer || !section) return;
    const shapes = section.polygons.map(([outer, ...holes]) => {
      const points = (ring) => ring.map(([y, z]) => new THREE.Vector2(y, z));
      const shape = new THREE.Shape(points(outer));
      shape.holes = holes.map((ring) => new THREE.Path(points(ring)));
      return shape;
    });
    const flat = new THREE.ShapeGeometry(shapes);
    const at = flat.getAttribute("position");
    for (let i = 0; i < at.count; i += 1) at.setXYZ(i, section.x, at.getX(i), at.getY(i));
    flat.computeVertexNormals();
    this.face.geometry.dispose();
    this.face.geometry = flat;
    const line = [];
    for (const ring of section.polygons.flat()) {
      ring.forEach(([y, z], k) => {
        const [ny, nz] = ring[(k + 1) % ring.length];
        line.push(section.x, y, z, section.x, ny, nz);
      });
    }
    this.rim.geometry.dispose();
    this.rim.geometry = new THREE.BufferGeometry();
    this.rim.geometry.setAttribute("position", new THREE.Float32BufferAttribute(line, 3));
  }

  paint() {
    if (!this.renderer) return;
    const style = getComputedStyle(this.element);
    const colour = (name, other) => style.getPropertyValue(name).trim() || other;
    this.body.material.color.set(colour("--wood", "#e2c796"));
    this.face.material.color.set(colour("--wood", "#e2c796"));
    this.rim.material.color.set(colour("--ink", "#2d2820"));
    this.floor.material.color.set(colour("--line", "#8d7f64"));
    this.draw();
  }

  draw() {
    if (!this.renderer || !this.solid || !this.element.isConnected) return;
    cancelAnimationFrame(this.frame);
    this.frame = requestAnimationFrame(() => this.drawNow());
  }

  drawNow() {
    const { width, height } = this.holder.getBoundingClientRect();
    if (!width || !height) return;
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.renderer.setSize(width, height, false);
    const [x0, y0, z0, x1, y1, z1] = this.solid.box;
    const middle = [(x0 + x1) / 2, (y0 + y1) / 2, (z0 + z1) / 2];
    const size = Math.hypot(x1 - x0, y1 - y0, z1 - z0);
    this.camera.aspect = width / height;
    const narrow = Math.min(1, this.camera.aspect / 1.6);
    const far = (size * 1.75 * this.far) / narrow;
    const [ca, sa, co, so] = [Math.cos(this.around), Math.sin(this.around), Math.cos(this.over), Math.sin(this.over)];
    this.camera.up.set(0, 0, 1);
    this.camera.position.set(middle[0] + far * co * sa, middle[1] - far * co * ca, middle[2] + far * so);
    this.camera.lookAt(...middle);
    this.camera.updateProjectionMatrix();
    this.light.position.set(
      this.camera.position.x - 0.4 * size, this.camera.position.y, this.camera.position.z + 0.9 * size,
    );
    this.light.target.position.set(...middle);
    this.light.target.updateMatrixWorld();
    // What lies between the eye and the station is taken away.
    const cuts = this.cut.checked && this.section && this.station !== null;
    const toTail = sa > 0;
    this.plane.normal.set(toTail ? -1 : 1, 0, 0);
    this.plane.constant = toTail ? this.station : -this.station;
    for (const part of [this.body, ...this.parts.children]) {
      part.material.clippingPlanes = cuts ? [this.plane] : null;
    }
    this.face.visible = this.rim.visible = Boolean(cuts && this.section.x === Math.round(this.station * 1000) / 1000);
    this.renderer.render(this.scene, this.camera);
    put(this.canvas, { "data-triangles": this.renderer.info.render.triangles });
  }

  // ------------------------------------------------------------ turning

  turn(around, over) {
    this.around += around;
    this.over = Math.min(Math.max(this.over + over, -1.5), 1.5);
    this.draw();
  }

  zoom(factor) {
    this.far = Math.min(Math.max(this.far * factor, NEAR), FAR);
    this.draw();
  }

  key(event) {
    const does = {
      ArrowLeft: () => this.turn(-KEY_TURN, 0),
      ArrowRight: () => this.turn(KEY_TURN, 0),
      ArrowUp: () => this.turn(0, KEY_TURN),
      ArrowDown: () => this.turn(0, -KEY_TURN),
      "+": () => this.zoom(0.85),
      "=": () => this.zoom(0.85),
      "-": () => this.zoom(1.18),
      0: () => {
        [this.around, this.over, this.far] = [-0.7, 0.42, 1];
        this.draw();
      },
    };
    if (!does[event.key] || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    does[event.key]();
  }

  down(event) {
    this.canvas.setPointerCapture(event.pointerId);
    this.pointers.set(event.pointerId, [event.clientX, event.clientY]);
  }

  move(event) {
    const before = this.pointers.get(event.pointerId);
    if (!before) return;
    const here = [event.clientX, event.clientY];
    if (this.pointers.size === 2) {
      const other = [...this.pointers].find(([id]) => id !== event.pointerId)[1];
      const apart = (a) => Math.hypot(a[0] - other[0], a[1] - other[1]);
      this.zoom(apart(before) / Math.max(apart(here), 1));
    } else {
      this.turn(-(here[0] - before[0]) * TURN, (here[1] - before[1]) * TURN);
    }
    this.pointers.set(event.pointerId, here);
  }

  up(event) {
    this.pointers.delete(event.pointerId);
  }
}

function bytes(text) {
  return Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0)).buffer;
}
