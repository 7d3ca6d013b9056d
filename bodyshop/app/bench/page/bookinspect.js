// Inspection of the car as built: every rule, room for what was found, and what it comes to.

import { make } from "./dom.js";
import { book, carPicker, deed, doing, part, refused, table } from "./book.js";

let of = "";
let found = {};
let steps = { step: "0.1 mm", balance: "0.1 g", instrument: "" };
let told = null;
let asked = null;

const SIGN = { good: "✓", bad: "✕", open: "?" };

function box(row) {
  const label = `${row.clause}, ${row.title}`;
  if (row.measured_as === "answer") {
    const choice = make("select", { "data-clause": row.clause, "aria-label": label }, ...[["", "–"], ["yes", "as it should be"], ["no", "not so"]].map(([value, words]) => make("option", { value, selected: (found[row.clause] ?? "") === value }, words)));
    choice.addEventListener("change", () => take(row.clause, choice.value));
    return choice;
  }
  const input = make("input", { "data-clause": row.clause, "aria-label": `${label}${row.unit ? `, ${row.unit}` : ""}`, value: found[row.clause] ?? "", inputmode: "decimal", autocomplete: "off", size: "9" });
  input.addEventListener("change", () => take(row.clause, input.value));
  return make("span", {}, input, row.unit ? ` ${row.unit}` : "");
}

function take(clause, text) {
  if (text.trim()) found[clause] = text;
  else delete found[clause];
}

const asking = (more = {}) => ({ car: book.car, found, ...steps, ...more });

async function judge() {
  try {
    told = await deed("inspect", asking());
    asked = null;
  } catch (error) {
    refused(error);
    return false;
  }
  return true;
}

async function keepIt(confirmed) {
  const answer = await deed("inspect", asking({ keep: true, confirmed }));
  asked = answer.asks ?? null;
  if (!asked) {
    told = null;
    found = {};
  }
}

function instruments() {
  const labels = { step: "Step of the calliper", balance: "Step of the balance", instrument: "Instrument (optional)" };
  return make(
    "div",
    { class: "fields" },
    ...Object.entries(labels).map(([name, words]) => {
      const input = make("input", { id: `with-${name}`, value: steps[name], autocomplete: "off" });
      input.addEventListener("change", () => {
        steps[name] = input.value;
      });
      return make("label", {}, words, input);
    }),
  );
}

export async function showInspection() {
  if (!book.cars.cars.length) return [make("p", {}, "No car is in the book yet: take designs in under Cars.")];
  const picker = carPicker();
  if (of !== book.car) {
    of = book.car;
    found = {};
    told = asked = null;
  }
  const data = told ?? (await part("inspection", { car: book.car }));
  const rows = data.rows.map((row) =>
    make(
      "tr",
      { "data-state": row.state },
      make("td", {}, make("b", {}, row.clause)),
      make("td", {}, row.title, row.how ? make("small", {}, row.how) : ""),
      make("td", { class: "short" }, row.limit),
      make("td", { class: "short" }, row.drawn),
      make("td", { class: "short" }, box(row)),
      make("td", {}, row.change),
      make("td", { class: row.state === "bad" ? "short bad" : "short" }, `${SIGN[row.state]} ${row.verdict}`),
    ),
  );
  const before = data.before.map((each) => [String(each.id), each.at, `${each.passes ? "✓" : "✕"} ${each.result}`, each.doubt && `asked: ${each.doubt}`]);
  const sheet = `/book/inspection.pdf?${new URLSearchParams({ file: book.file, car: book.car })}`;
  return [
    make("section", {}, picker, instruments()),
    make(
      "section",
      { "aria-label": "What was found" },
      make("h2", {}, `${data.car} as built, by ${data.rulebook}`),
      make("p", { id: "standing", role: "status" }, data.standing),
      asked ? make("div", { class: "asks", role: "alert" }, make("p", {}, make("b", {}, "Can this be? "), asked.join(" "))) : "",
      make(
        "p",
        { class: "deeds" },
        make("button", { type: "button", id: "judge", onclick: doing(judge) }, "Judge what is typed"),
        make("button", { type: "button", class: "main", id: "keep-inspection", onclick: doing(() => keepIt(false)) }, "Keep this inspection"),
        asked ? make("button", { type: "button", id: "keep-odd", onclick: doing(() => keepIt(true)) }, "It is so: keep it") : "",
      ),
      table(["clause", "what", "limit", "drawn", "found", "change", "verdict"], rows),
      make("p", { class: "soft" }, "The judge at the event has the last word. This says whether sizes keep to a rulebook, no more."),
    ),
    make(
      "section",
      {},
      make("h2", {}, "Inspections so far"),
      before.length ? table(["no.", "when", "what it came to", "remarks"], before) : make("p", { class: "soft" }, "None yet."),
      before.length ? make("p", {}, make("a", { href: sheet, download: "as-built.pdf" }, "The sheet of the last one, to be signed")) : "",
    ),
  ];
}
