// Race day: heats, times, standings.

import { make } from "./dom.js";
import { askWhy, book, deed, doing, part, table } from "./book.js";

// Times with the digits that the event's timing shows.
let digits = 3;
const s = (value) => (value === null ? "–" : value.toFixed(digits));

const ordinal = (n) => `${n}${n % 100 >= 11 && n % 100 <= 13 ? "th" : (["th", "st", "nd", "rd"][n % 10] ?? "th")}`;

// A place as it is read out; in brackets while no official has decided whether the car races.
function placed(row) {
  if (row.place === null) return "–";
  const words = `${row.joint ? "joint " : ""}${ordinal(row.place)}`;
  return row.decided ? words : `(${words})`;
}
let all = false;

// The result that was asked about last, until it is confirmed, typed anew or left: what was sent, and the questions.
let asked = null;
const isAsked = (heat, one) => asked && asked.heat === heat.number && asked.car === one.car;

// Note a result; where it is asked about, the questions stay beside its lane.
async function note(given) {
  const answer = await deed("note", given);
  asked = answer.asks ? { ...given, asks: answer.asks } : null;
  return !asked;
}

function question(heat, one) {
  if (!isAsked(heat, one)) return "";
  const { asks, ...given } = asked;
  return make(
    "div",
    { class: "asks", role: "alert" },
    make("p", {}, make("b", {}, `${given.result}: can this be? `), asks.join(" ")),
    make("p", {}, "Type it anew, or store it with the question beside it."),
    make(
      "p",
      { class: "deeds" },
      make("button", { type: "button", id: "note-anyway", onclick: doing(async () => {
        await note({ ...given, confirmed: true });
        next(given.heat, given.car);
      }) }, "It is so: note it"),
      make("button", { type: "button", onclick: doing(() => {
        asked = null;
      }) }, "Leave it"),
    ),
  );
}

function lane(data, heat, one) {
  if (one.car === null) return make("li", {}, make("span", { class: "lane" }, `lane ${one.lane}`), "empty");
  const row = make("li", {}, make("span", { class: "lane" }, `lane ${one.lane}`), make("span", { class: "who" }, one.car));
  if (one.end !== null) {
    row.append(one.time_s === null ? one.end : `${s(one.time_s)} s`);
    row.append(make("button", { type: "button", onclick: doing(() => correct(heat, one)), "aria-label": `correct heat ${heat.number}, ${one.car}` }, "Correct"));
    if (one.doubt) row.append(make("small", { class: "doubt" }, `asked about: ${one.doubt}`));
    row.append(question(heat, one));
  } else if (one.car in data.out) {
    row.append("out");
  } else {
    const typed = isAsked(heat, one) ? asked.result : "";
    const input = make("input", { value: typed, "data-heat": heat.number, "data-car": one.car, autocomplete: "off", inputmode: "decimal", "aria-label": `time of ${one.car} in heat ${heat.number}, seconds` });
    const form = make("form", {}, input, " s ", make("button", {}, "Note"));
    form.addEventListener("submit", doing(async () => {
      if (await note({ heat: heat.number, car: one.car, result: input.value })) next(heat.number, one.car);
    }));
    row.append(form, question(heat, one));
  }
  return row;
}

// After a time is noted the next empty lane is where the keyboard goes.
let wanted = null;
function next(number, car) {
  const inputs = [...document.querySelectorAll("input[data-heat]")];
  const at = inputs.findIndex((each) => each.dataset.heat === String(number) && each.dataset.car === car);
  const after = inputs[at + 1];
  wanted = after ? [after.dataset.heat, after.dataset.car] : null;
}

async function correct(heat, one) {
  const words = "What was noted stays in the book, and the final sheet lists the correction.";
  const said = await askWhy(`Correct heat ${heat.number}, ${one.car}`, words, one.time_s === null ? "" : String(one.time_s));
  if (said === null) return false;
  await note({ heat: heat.number, car: one.car, because: said[0], result: said[1] });
  return true;
}

async function again(heat) {
  const said = await askWhy(`Void heat ${heat.number}`, "Its times count for nobody, and it is run again at the end.");
  if (said === null) return false;
  await deed("rerun", { heat: heat.number, because: said[0] });
  return true;
}

async function rule(name, title, words, car) {
  const said = await askWhy(title, words);
  if (said === null) return false;
  await deed(name, { car, because: said[0] });
  return true;
}

async function allow(title, words, cars) {
  const said = await askWhy(title, words);
  if (said === null) return false;
  await deed("allow", { cars, because: said[0] });
  return true;
}

// Cars that have not passed inspection, for an official to decide on.
function undecided(data) {
  const waiting = data.admissions.filter((each) => !each.decided && !(each.car in data.out));
  if (!waiting.length) return "";
  const words = "The book stores who was allowed and why, and the final sheet lists it. It holds until the car is inspected again.";
  return make(
    "section",
    { class: "asks", id: "undecided" },
    make("h2", {}, "Not passed inspection: an official decides"),
    table(["car", "inspection", ""], waiting.map((each) => [
      make("b", {}, each.car),
      each.why,
      make(
        "span",
        { class: "deeds" },
        make("button", { type: "button", "aria-label": `let ${each.car} race`, onclick: doing(() => allow(`Let ${each.car} race`, words, [each.car])) }, "Allow"),
        make("button", { type: "button", "aria-label": `take ${each.car} out`, onclick: doing(() => rule("out", `Take ${each.car} out`, "Its lanes stay empty from now on.", each.car)) }, "Out"),
      ),
    ])),
    waiting.length > 1 ? make("p", { class: "deeds" }, make("button", { type: "button", id: "allow-all", onclick: doing(() => allow("Let all of these race", words, waiting.map((each) => each.car))) }, "Allow all of these")) : "",
  );
}

function heatBox(data, heat) {
  const words = [heat.race, `round ${heat.round}`, heat.tie && "a tie", heat.repeats && `repeats heat ${heat.repeats}`].filter(Boolean).join(", ");
  const run = heat.lanes.some((one) => one.end !== null);
  return make(
    "div",
    { class: "heat" },
    make("h3", {}, `Heat ${heat.number} `, make("small", {}, words)),
    make("ol", {}, ...heat.lanes.map((one) => lane(data, heat, one))),
    run ? make("p", { class: "deeds" }, make("button", { type: "button", onclick: doing(() => again(heat)) }, "Void and run again")) : null,
  );
}

function draws(data) {
  const rounds = make("input", { name: "rounds", value: "2", inputmode: "numeric", size: "3" });
  const counts = make("select", { name: "counts" }, ...["best", "mean", "total"].map((word) => make("option", { value: word }, word)));
  const best = make("input", { name: "best", value: "", inputmode: "numeric", size: "3" });
  const runs = make("input", { name: "runs", value: "1", inputmode: "numeric", size: "3" });
  const chance = make("input", { type: "checkbox", name: "chance" });
  return make(
    "div",
    {},
    make(
      "p",
      { class: "deeds" },
      make("button", { type: "button", id: "enter", onclick: doing(() => deed("enter")) }, "Enter all cars"),
      make("label", {}, "Rounds", rounds),
      make("label", {}, "What counts", counts),
      make("button", { type: "button", id: "draw", onclick: doing(() => deed("draw", { rounds: rounds.value, counts: counts.value })) }, "Draw time trials"),
    ),
    make(
      "p",
      { class: "deeds" },
      data.knockout ? null : make("label", {}, "Only the best", best),
      data.knockout ? null : make("label", {}, "Runs a pairing", runs),
      data.knockout ? null : make("label", { class: "tick" }, chance, "by chance, not by the standings"),
      data.final ? "The final is run." : make("button", { type: "button", id: "eliminate", onclick: doing(() => deed("eliminate", { best: best.value, runs: runs.value, chance: chance.checked })) }, data.knockout ? "Draw the next round" : "Draw eliminations"),
    ),
  );
}

function standings(data) {
  const rows = data.standings.map((row) => [
    row.out ? "out" : placed(row),
    make("span", {}, make("b", {}, row.car), row.out ? make("small", {}, row.out) : ""),
    data.benches[row.car] ?? "",
    s(row.score_s),
    row.times_s.map(s).join("  "),
    row.out
      ? make("button", { type: "button", onclick: doing(() => rule("back", `Let ${row.car} race again`, "", row.car)) }, "Back in")
      : make("button", { type: "button", onclick: doing(() => rule("out", `Take ${row.car} out`, "Its lanes stay empty from now on.", row.car)) }, "Out"),
  ]);
  return table(["place", "car", "bench", data.counts, "runs, s", ""], rows, { figures: [3] });
}

const PAPERS = ["heats.pdf", "standings.pdf", "final.pdf", "certificates.pdf", "class-data.pdf", "class-data.csv"];

export async function showRace() {
  const data = await part("race");
  digits = data.decimals;
  const shown = data.heats.filter((heat) => all || data.open.includes(heat.number));
  const turnAll = make("input", { type: "checkbox", id: "all", checked: all });
  turnAll.addEventListener("change", doing(() => {
    all = turnAll.checked;
  }));
  const made = [
    make("div", { class: "caution", role: "note" }, ...data.cautions.map((words) => make("p", {}, `Caution: ${words}`))),
    make("section", {}, make("p", { class: "soft" }, `${data.as_of}. ${data.entered.length} cars entered.`), draws(data)),
    undecided(data),
    make(
      "div",
      { class: "columns" },
      make(
        "section",
        {},
        make("h2", {}, "Heats"),
        make("p", { class: "soft" }, data.keys),
        make("label", { class: "tick" }, turnAll, "show those that are run as well"),
        ...shown.map((heat) => heatBox(data, heat)),
        shown.length ? "" : make("p", { class: "soft" }, data.heats.length ? "Every heat that is drawn is run." : "Nothing is drawn yet."),
      ),
      make(
        "section",
        {},
        make("h2", {}, "Standings"),
        data.provisional.length && data.entered.length ? make("p", { class: "soft", id: "provisional" }, `Provisional. ${data.provisional.join(" ")}`) : "",
        data.standings.length ? standings(data) : make("p", { class: "soft" }, "No car is entered."),
        data.eliminations.length ? make("h2", {}, "Eliminations") : "",
        data.eliminations.length ? table(["place", "car"], data.eliminations.map((each) => [placed(each), each.car])) : "",
        data.decisions.length ? make("h2", {}, "Rulings and corrections") : "",
        data.decisions.length ? table(["when", "what"], data.decisions.map((each) => [each.at, each.what])) : "",
        make("h2", {}, "Papers"),
        make("ul", {}, ...PAPERS.map((name) => make("li", {}, make("a", { href: `/book/papers/${name}?${new URLSearchParams({ file: book.file })}`, download: name }, name)))),
      ),
    ),
  ];
  queueMicrotask(() => {
    if (!wanted) return;
    const [heat, car] = wanted;
    wanted = null;
    setTimeout(() => [...document.querySelectorAll("input[data-heat]")].find((each) => each.dataset.heat === heat && each.dataset.car === car)?.focus(), 0);
  });
  return made;
}
