// The trial book: one page, its parts told apart by what stands after the # of the address.

import { byId, dropNotice, get, make, notice, post, put, say } from "./dom.js";
import { showCars } from "./bookcars.js";
import { showInspection } from "./bookinspect.js";
import { showPrediction } from "./bookpredict.js";
import { showRace } from "./bookrace.js";
import { showTrials } from "./booktrials.js";

const PARTS = { cars: showCars, inspection: showInspection, trials: showTrials, prediction: showPrediction, race: showRace };

export const book = { file: "", forms: [], cars: null, car: "" };

export const part = (name, more = {}) =>
  get(`/book/data?${new URLSearchParams({ file: book.file, part: name, ...more })}`);

export async function deed(name, given = {}) {
  const done = await post(`/book/do?${new URLSearchParams({ file: book.file })}`, { deed: name, ...given });
  dropNotice("refused");
  if (done.done) {
    notice("done", done.done, [["Put away", () => dropNotice("done")]]);
    say(done.done);
  }
  return done;
}

export function refused(error) {
  dropNotice("done");
  notice("refused", error.message, [["Put away", () => dropNotice("refused")]], { bad: true });
}

// Do something, tell what came of it, and show the part again.
export const doing = (work) => async (event) => {
  event?.preventDefault?.();
  try {
    if ((await work(event)) !== false) await show();
  } catch (error) {
    refused(error);
  }
};

// Ask for a reason, and for a result where one is given to begin with; null where it is left.
export function askWhy(title, words, value = null) {
  const sheet = byId("why-sheet");
  put(byId("why-title"), title);
  put(byId("why-words"), words);
  byId("why-text").value = "";
  byId("why-value-row").hidden = value === null;
  byId("why-value").value = value ?? "";
  return new Promise((resolve) => {
    sheet.addEventListener("close", () => resolve(sheet.returnValue === "yes" ? [byId("why-text").value.trim(), byId("why-value").value.trim()] : null), { once: true });
    sheet.returnValue = "";
    sheet.showModal();
  });
}

// The rows of cells of a table; a cell is a text or an element.
export function table(heads, rows, { figures = [] } = {}) {
  const cell = (tag) => (content, k) => make(tag, { class: figures.includes(k) ? "figure" : null, scope: tag === "th" ? "col" : null }, content ?? "");
  return make(
    "div",
    { class: "wide", tabindex: "0", role: "region", "aria-label": heads.join(", ") },
    make("table", {}, make("thead", {}, make("tr", {}, ...heads.map(cell("th")))), make("tbody", {}, ...rows.map((row) => (row instanceof Element ? row : make("tr", {}, ...row.map(cell("td"))))))),
  );
}

export function carPicker() {
  const names = book.cars.cars.map((car) => car.name);
  if (!names.includes(book.car)) book.car = names[0] ?? "";
  const choice = make("select", { id: "car" }, ...names.map((name) => make("option", { value: name, selected: name === book.car }, name)));
  choice.addEventListener("change", () => {
    book.car = choice.value;
    show();
  });
  return make("p", { class: "pick" }, make("label", {}, "Car ", choice));
}

const now = () => (location.hash.slice(1) in PARTS ? location.hash.slice(1) : "cars");
let turn = 0;

export async function show() {
  const mine = ++turn;
  const name = now();
  for (const link of document.querySelectorAll("nav a")) {
    if (link.hash === `#${name}`) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  const place = byId("section");
  if (!book.file) {
    place.replaceChildren(make("p", {}, "There is no trial book in this folder yet. Begin one: it keeps cars, trials and the race."));
    return;
  }
  try {
    book.cars = await part("cars");
    const made = await PARTS[name]();
    if (mine !== turn) return;
    put(byId("event"), book.cars.event);
    document.title = `${book.cars.event}: trial book`;
    place.replaceChildren(...made);
    dropNotice("cut");
  } catch (error) {
    notice("cut", `The book cannot be shown: ${error.message}`, [["Try again", show]], { bad: true });
  }
}

async function load() {
  const data = await get("/books");
  book.forms = data.forms;
  const wanted = new URLSearchParams(location.search).get("file");
  book.file = data.books.includes(wanted) ? wanted : (data.books[0] ?? "");
  byId("book").replaceChildren(...data.books.map((name) => make("option", { value: name, selected: name === book.file }, name)));
  byId("book").disabled = data.books.length < 1;
  await show();
}

byId("book").addEventListener("change", () => {
  location.search = new URLSearchParams({ file: byId("book").value });
});
byId("light").addEventListener("click", () => globalThis.turnLight());
byId("begin").addEventListener("click", () => byId("begin-sheet").showModal());
byId("begin-form").addEventListener("submit", async (event) => {
  if (event.submitter?.value !== "begin") return;
  event.preventDefault();
  try {
    const made = await post("/books", Object.fromEntries(new FormData(event.target)));
    location.search = new URLSearchParams({ file: made.file });
  } catch (error) {
    byId("begin-refused").textContent = error.message;
  }
});
addEventListener("hashchange", () => {
  for (const id of ["done", "refused"]) dropNotice(id);
  show().then(() => byId("section").focus());
});
load().catch((error) => notice("cut", `The books cannot be listed: ${error.message}`, [], { bad: true }));
