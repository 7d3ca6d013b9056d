// The cars of the book, and taking designs of the folder in.

import { make } from "./dom.js";
import { book, deed, doing, table } from "./book.js";

const seconds = (value) => (value === null ? "–" : value.toFixed(3));

function inspected(found) {
  if (!found) return "not inspected";
  return make("span", {}, `${found.passes ? "✓" : "✕"} ${found.result}`, make("small", {}, found.at));
}

export async function showCars() {
  const { cars, track_m: track, lanes, rulebook } = book.cars;
  const facts = [track === null ? "track of unknown length" : `track ${track} m`, `${lanes} lanes`, rulebook && `rulebook ${rulebook}`];
  const rows = cars.map((car) => [
    make("b", {}, car.name),
    car.bench,
    inspected(car.inspection),
    car.mass_g === null ? "–" : car.mass_g.toFixed(1),
    car.predicted ? make("span", {}, seconds(car.predicted[0]), make("small", {}, `${seconds(car.predicted[1])} to ${seconds(car.predicted[2])}`)) : "–",
    seconds(car.best_s),
    make("span", {}, car.design || "none", make("small", {}, car.mark)),
  ]);
  return [
    make(
      "section",
      {},
      make("p", { class: "soft" }, facts.filter(Boolean).join(", ")),
      make("p", { class: "deeds" }, make("button", { type: "button", class: "main", id: "take", onclick: doing(() => deed("add_designs")) }, "Take in the designs of this folder")),
      cars.length ? table(["car", "bench", "inspection", "mass, g", "predicted, s", "best run, s", "design"], rows, { figures: [3, 4, 5] }) : make("p", {}, "No car is in the book yet."),
    ),
  ];
}
