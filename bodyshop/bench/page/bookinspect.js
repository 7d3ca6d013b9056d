// Inspection of the car as built.

import { make } from "./dom.js";
import { book, carPicker } from "./book.js";

export async function showInspection() {
  if (!book.cars.cars.length) return [make("p", {}, "No car is in the book yet: take designs in under Cars.")];
  return [make("section", {}, carPicker())];
}
