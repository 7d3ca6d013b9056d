// A folder of designs, each drawn small, with its verdict.

import { byId, drawn, get, make, notice, dropNotice, post, put } from "./dom.js";

let rows = [];

function card(row) {
  const address = `/design?file=${encodeURIComponent(row.file)}`;
  return make(
    "li",
    { "data-state": row.state, "data-file": row.file },
    make(
      "a",
      { href: address },
      picture(row),
      make("h2", {}, row.name),
      make("p", { class: "verdict" }, make("span", { class: "sign", "aria-hidden": "true" }, row.sign), ` ${row.verdict}`),
      make("p", { class: "soft" }, [row.bench, row.mass].filter(Boolean).join(", ")),
      row.failed.length ? make("p", { class: "failed" }, row.state === "unread" ? row.failed.join(" ") : `breaks ${row.failed.join(", ")}`) : null,
      make("p", { class: "file" }, row.file, row.draft ? make("b", {}, " unsaved draft") : null),
    ),
  );
}

function picture(row) {
  if (!row.drawing) return make("div", { class: "nothing", "aria-hidden": "true" }, "no drawing");
  const { box, side, top, wheels, treads } = row.drawing;
  return drawn(
    "svg",
    { viewBox: box.join(" "), role: "img", "aria-label": `side and top view of ${row.name}` },
    drawn("path", { class: "body", d: side }),
    ...wheels.map(([cx, cy, r]) => drawn("circle", { class: "wheel", cx, cy, r })),
    drawn("path", { class: "wheel", d: treads }),
    drawn("path", { class: "body", d: top }),
  );
}

function show() {
  const wanted = byId("find").value.trim().toLowerCase();
  const found = rows.filter((row) => `${row.name} ${row.bench} ${row.file} ${row.verdict}`.toLowerCase().includes(wanted));
  byId("cars").replaceChildren(...found.map(card));
  byId("none").hidden = rows.length > 0;
  const passing = rows.filter((row) => row.state === "pass").length;
  put(byId("count"), `${rows.length} ${rows.length === 1 ? "design" : "designs"}, ${passing} pass`);
}

async function load() {
  try {
    const data = await get("/designs");
    put(byId("folder"), data.folder);
    document.title = `${data.folder} on the bench`;
    rows = data.rows.map((row) => ({ ...row, draft: data.drafts.includes(row.file) }));
    show();
    if (data.more) notice("more", `${data.more} more designs are in the folder than can be shown.`);
    dropNotice("cut");
  } catch (error) {
    notice("cut", `The folder cannot be shown: ${error.message}`, [["Try again", load]], { bad: true });
  }
}

byId("find").addEventListener("input", show);
byId("light").addEventListener("click", () => globalThis.turnLight());
addEventListener("focus", load);
document.addEventListener("visibilitychange", () => document.hidden || load());

byId("begin").addEventListener("click", () => byId("begin-sheet").showModal());
byId("begin-form").addEventListener("submit", async (event) => {
  if (event.submitter?.value !== "begin") return;
  event.preventDefault();
  const given = Object.fromEntries(new FormData(event.target));
  try {
    const made = await post("/begin", { name: byId("begin-name").value, ...given });
    location.href = `/design?file=${encodeURIComponent(made.file)}`;
  } catch (error) {
    byId("begin-refused").textContent = error.message;
  }
});

byId("bring").addEventListener("click", () => byId("bring-file").click());
byId("bring-file").addEventListener("change", async (event) => {
  const [chosen] = event.target.files;
  event.target.value = "";
  if (!chosen) return;
  try {
    const made = await post(`/bring?name=${encodeURIComponent(chosen.name)}`, chosen);
    location.href = `/design?file=${encodeURIComponent(made.file)}`;
  } catch (error) {
    notice("bring", error.message, [["Put away", () => dropNotice("bring")]], { bad: true });
  }
});

load();
