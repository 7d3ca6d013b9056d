// Predictions: one car's race, frozen predictions, and how they were held.

import { drawn, make } from "./dom.js";
import { book, carPicker, deed, doing, part, refused, table } from "./book.js";

let given = { length: "", temperature: "", pressure: "", cartridge: "" };
let told = null;

const LABELS = { length: "Lane, m", temperature: "Air, °C", pressure: "Barometer, hPa", cartridge: "Cartridge, °C" };

function conditions() {
  return make(
    "div",
    { class: "fields" },
    ...Object.entries(LABELS).map(([name, label]) => make("label", {}, `${label} (optional)`, make("input", { name, value: given[name], inputmode: "decimal", autocomplete: "off" }))),
  );
}

function bars(causes) {
  const shown = causes.filter((each) => each.share > 0.005);
  const pitch = 24;
  return drawn(
    "svg",
    { class: "bars", viewBox: `0 0 640 ${shown.length * pitch + 8}`, role: "img", "aria-label": "What makes the interval wide" },
    ...shown.flatMap((each, k) => {
      const y = 4 + k * pitch;
      return [
        drawn("text", { x: 6, y: y + 15 }, each.label),
        drawn("rect", { x: 270, y: y + 2, width: 300, height: pitch - 6 }),
        drawn("rect", { class: "share", x: 270, y: y + 2, width: 300 * each.share, height: pitch - 6 }),
        drawn("text", { x: 576, y: y + 15 }, `${Math.round(100 * each.share)} %`),
      ];
    }),
  );
}

function prediction(of) {
  return make(
    "section",
    { "aria-label": `Prediction of ${of.car}` },
    make("h2", {}, `${of.car} over ${of.length_m} m`),
    table(["", "middle", `interval, ${Math.round(100 * of.confidence)} % of cases`, "unit"], of.figures.map((each) => [each.label, each.value, `${each.low} to ${each.high}`, each.unit]), { figures: [1, 2] }),
    make("h3", {}, "Why the range is wide"),
    bars(of.causes),
    make("h3", {}, "What the prediction uses"),
    table(["figure", "value", "interval", "unit", "from"], of.inputs.map((each) => [each.label, each.value, `${each.low} to ${each.high}`, each.unit, `${each.basis}: ${each.source}`]), { figures: [1, 2] }),
    make("p", { class: "formula" }, of.formula),
    make("p", {}, of.promise),
    make("div", { class: "caution", role: "note" }, ...of.cautions.map((words) => make("p", {}, `Caution: ${words}`))),
  );
}

function held(data) {
  if (!data.cars.length) return make("p", { class: "soft" }, "No frozen prediction has been run against yet.");
  const s = (value) => (value === null ? "–" : value.toFixed(3));
  const rows = data.cars.map((each) => [
    make("b", {}, each.car),
    s(each.predicted_s.value),
    `${s(each.predicted_s.low)} to ${s(each.predicted_s.high)}`,
    s(each.measured_s.mean),
    String(each.measured_s.values.length),
    (each.error_s > 0 ? "+" : "") + s(each.error_s),
    each.mean_inside ? "✓ inside" : "✕ outside",
  ]);
  const sum = data.summary;
  const order = sum.order ?? sum.rank ?? null;
  return make(
    "div",
    {},
    table(["car", "predicted, s", "interval, s", "measured, s", "runs", "error, s", "mean of runs"], rows, { figures: [1, 2, 3, 4, 5] }),
    make("p", {}, `Typical error ${s(sum.typical_error_s)} s.${order && order.spearman !== undefined ? ` Order of the cars: rank correlation ${order.spearman.toFixed(2)}.` : ""}`),
  );
}

export async function showPrediction() {
  if (!book.cars.cars.length) return [make("p", {}, "No car is in the book yet: take designs in under Cars.")];
  const picker = carPicker();
  const against = await part("held");
  if (told && told.car !== book.car) told = null;
  const form = make(
    "form",
    { id: "foretell" },
    conditions(),
    make(
      "p",
      { class: "deeds" },
      make("button", { class: "main", id: "predict" }, "Predict this car"),
      make("button", { type: "button", id: "freeze", onclick: doing(() => deed("freeze", read(form))) }, "Freeze predictions of all cars"),
    ),
  );
  form.addEventListener(
    "submit",
    doing(async () => {
      try {
        told = await deed("foretell", { car: book.car, ...read(form) });
      } catch (error) {
        told = null;
        refused(error);
        return false;
      }
      return true;
    }),
  );
  return [
    make("section", {}, picker, form),
    told ? prediction(told) : "",
    make("section", {}, make("h2", {}, "Frozen predictions, held against the runs"), held(against)),
  ];
}

function read(form) {
  given = Object.fromEntries(new FormData(form));
  return given;
}
