// Small helpers to make elements; text is always put in as text.

export const byId = (id) => document.getElementById(id);

export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === null || value === undefined) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "class") element.className = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.filter((child) => child !== null && child !== ""));
  return element;
}

const SVG = "http://www.w3.org/2000/svg";

export function drawn(tag, attributes = {}, ...children) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

export function put(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

export function say(text) {
  const place = byId("said");
  if (place) place.textContent = text;
}

// A notice stays until what it tells of is over, or it is put away. It moves the page, so it waits while
// something is held; a passing one lies over the page instead.
let held = false;
const waiting = new Map();

addEventListener("pointerdown", () => (held = true), true);
for (const kind of ["pointerup", "pointercancel"]) {
  addEventListener(
    kind,
    () => {
      held = false;
      setTimeout(() => {
        for (const show of waiting.values()) show();
        waiting.clear();
      });
    },
    true,
  );
}

export function notice(id, text, deeds = [], { bad = false, extra = null, passing = false } = {}) {
  dropNotice(id);
  const box = make("div", { class: bad ? "notice bad" : "notice", "data-notice": id, role: bad ? "alert" : "status" });
  box.append(make("p", {}, text));
  if (extra) box.append(extra);
  if (deeds.length) {
    box.append(
      make(
        "p",
        { class: "deeds" },
        ...deeds.map(([label, does]) => make("button", { type: "button", onclick: does }, label)),
      ),
    );
  }
  const show = () => byId(passing ? "passing" : "notices").append(box);
  if (held && !passing) waiting.set(id, show);
  else show();
}

export function dropNotice(id) {
  waiting.delete(id);
  document.querySelector(`[data-notice="${id}"]`)?.remove();
}

export async function post(path, body) {
  const raw = body instanceof Blob;
  const answer = await fetch(path, {
    method: "POST",
    body: raw ? body : JSON.stringify(body),
    headers: raw ? {} : { "Content-Type": "application/json" },
  });
  return answered(answer);
}

export async function get(path) {
  return answered(await fetch(path));
}

async function answered(answer) {
  const type = answer.headers.get("Content-Type") || "";
  if (!type.includes("json")) throw new Error(await answer.text());
  const data = await answer.json();
  if (!answer.ok) throw Object.assign(new Error(data.refused || "The bench refused it."), { keys: data.keys ?? [] });
  return data;
}
