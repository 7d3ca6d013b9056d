// Trials: a form for each instrument, what was noted, and what it means.

import { make } from "./dom.js";
import { askWhy, book, carPicker, deed, doing, part, refused, show, table } from "./book.js";

let kind = "mass";
let typed = {};
let asked = null;

function field(one) {
  const id = `field-${one.name}`;
  const about = make("small", { id: `${id}-about`, class: "soft" }, one.about);
  const shared = { id, name: one.name, "aria-describedby": `${id}-about`, required: one.required };
  let input;
  if (one.choices) {
    input = make("select", shared, ...(one.required ? [] : [make("option", { value: "" }, "–")]), ...one.choices.map((word) => make("option", { value: word, selected: typed[one.name] === word }, word)));
  } else {
    input = make("input", { ...shared, autocomplete: "off", value: typed[one.name] ?? "", inputmode: one.unit ? "decimal" : null });
  }
  const unit = one.unit ? `, ${one.unit}` : "";
  return make("label", { "data-field": one.name }, `${one.label}${unit}${one.required ? "" : " (optional)"}`, input, about);
}

function form() {
  const wanted = book.forms.find((each) => each.kind === kind);
  const made = make(
    "form",
    { id: "record", novalidate: true },
    make("div", { class: "fields" }, ...wanted.fields.map(field)),
    asked ? make("div", { class: "asks", role: "alert" }, make("p", {}, make("b", {}, "Can this be? "), asked.join(" ")), make("p", {}, "Correct it, or keep it with the question noted beside it.")) : null,
    make(
      "p",
      { class: "deeds" },
      make("button", { class: "main", id: "keep" }, "Note it"),
      asked ? make("button", { type: "button", id: "keep-anyway", onclick: () => send(made, true) }, "It is so: note it") : null,
    ),
  );
  made.addEventListener("submit", (event) => {
    event.preventDefault();
    send(made, false);
  });
  return made;
}

async function send(made, confirmed) {
  typed = Object.fromEntries(new FormData(made));
  for (const label of made.querySelectorAll(".wrong")) label.classList.remove("wrong");
  try {
    const answer = await deed("add", { kind, car: book.car, fields: typed, confirmed });
    asked = answer.asks ?? null;
    if (!asked) typed = {};
    await show();
  } catch (error) {
    refused(error);
    for (const key of error.keys ?? []) made.querySelector(`[data-field="${key}"]`)?.classList.add("wrong");
    made.querySelector(".wrong input, .wrong select")?.focus();
  }
}

function noted(one) {
  const heads = ["no.", "when", ...one.columns.map((each) => (each.unit ? `${each.label}, ${each.unit}` : each.label)), "remarks", ""];
  const rows = one.rows.map((row) => {
    const remarks = [row.note, row.doubt && `asked: ${row.doubt}`, row.corrected && "corrected", row.struck && `struck: ${row.reason}`, !row.struck && row.reason && `instead: ${row.reason}`].filter(Boolean).join("; ");
    const cells = [String(row.id), row.at, ...row.cells].map((text) => make("td", {}, text));
    const strike = row.counts
      ? make("button", { type: "button", onclick: doing(() => strikeOut(one.kind, row.id)), "aria-label": `strike record ${row.id}` }, "Strike")
      : "";
    return make("tr", { class: row.counts ? null : "gone" }, ...cells, make("td", { class: "why" }, remarks), make("td", {}, strike));
  });
  return table(heads, rows);
}

async function strikeOut(of, id) {
  const said = await askWhy("Strike a record", "It does not count any more, and stays in the book with the reason.");
  if (said === null) return false;
  await deed("strike", { kind: of, id, because: said[0] });
  return true;
}

const round = (value) => (value === null ? "–" : Number(value.toPrecision(4)).toString());

function sums(groups) {
  const rows = groups.map((each) => [
    make("b", {}, each.what),
    each.when,
    String(each.count),
    `${round(each.mean)} ${each.unit}`,
    each.low === null ? "one reading: none" : `${round(each.low)} to ${round(each.high)}`,
    each.spread === null ? "–" : round(each.spread),
  ]);
  return table(["what", "when", "readings", "mean", "95 % range", "spread"], rows, { figures: [2, 3, 5] });
}

function finding(one) {
  return [
    make("dt", {}, `${one.title}: ${one.text}`),
    make("dd", {}, one.sentence),
    ...[...(one.notes ?? []), ...(one.doubts ?? [])].map((words) => make("dd", {}, words)),
    make("dd", { class: "formula" }, `${one.formula} (${one.source})`),
  ];
}

export async function showTrials() {
  if (!book.cars.cars.length) return [make("p", {}, "No car is in the book yet: take designs in under Cars.")];
  const picker = carPicker();
  const [data, means] = await Promise.all([part("records", { car: book.car }), part("meaning", { car: book.car })]);
  const kinds = make("select", { id: "kind" }, ...book.forms.map((each) => make("option", { value: each.kind, selected: each.kind === kind }, each.title)));
  kinds.addEventListener("change", () => {
    kind = kinds.value;
    typed = {};
    asked = null;
    show();
  });
  picker.append(make("label", {}, "Instrument ", kinds));
  const own = data.tables.find((each) => each.kind === kind);
  return [
    make("section", { "aria-label": "Note a reading" }, picker, form()),
    make("section", {}, make("h2", {}, "Noted"), own.rows.length ? noted(own) : make("p", { class: "soft" }, "Nothing yet.")),
    data.groups.length ? make("section", {}, make("h2", {}, "Repeats, summed up"), sums(data.groups)) : "",
    make(
      "section",
      {},
      make("h2", {}, "What it means"),
      make("dl", { class: "findings" }, ...means.findings.flatMap(finding)),
      means.missing.length ? make("p", { class: "soft" }, `What to measure next: ${means.missing.join(" ")}`) : "",
    ),
  ];
}
