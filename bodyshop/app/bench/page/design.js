// One design: the text on one side, the car on the other, the verdict under it.

import { byId, dropNotice, get, make, notice, post, put, say } from "./dom.js";
import { Editor } from "./editor.js";
import { Papers } from "./papers.js";
import { Remedies, showDifference } from "./remedies.js";
import { Verdict } from "./verdict.js";
import { Wire } from "./wire.js";

const meta = (name) => document.querySelector(`meta[name="${name}"]`).content;
const file = meta("design");

let words = null;
let brought = {}; // hardware of the event's own, by shelf
let drawing = null;
let scene = null;
let waiting = new Map(); // revision -> when it was asked for, to measure how long an update takes
let noting = 0;
let handAt = 0; // when the hand last did something

for (const kind of ["keydown", "pointermove", "pointerdown", "beforeinput"]) {
  addEventListener(kind, (event) => (handAt = event.timeStamp), { capture: true, passive: true });
}
const dragging = { sent: null, next: null, at: 0, revision: -1 };

get("/words").then((found) => {
  words = found;
});

const tell = (kind, body) => wire.tell(kind, body);

const editor = new Editor(byId("editor"), {
  tell,
  kept: keepAside,
  words: () => words && { ...words, brought },
  nonce: meta("nonce"),
  now: () => handAt || performance.now(),
});
const verdict = new Verdict({
  chosen: (rule) => {
    if (!drawing) return;
    if (rule && rule.place) drawing.showPlace(rule.place);
    else drawing.clearPlace();
  },
  mend: (clause) => remedies.look(clause),
  line: (number) => editor.goTo(number),
});
const remedies = new Remedies(tell);
new Papers(file, { show3d: (element) => drawing?.showSolid?.(element) });

// ---------------------------------------------------------------- the drawing

import("/drawing/drawing.js")
  .then(({ mountDrawing }) => {
    drawing = mountDrawing(byId("drawing"), byHand);
    if (scene) drawing.show(scene);
  })
  .catch((error) => notice("drawing", `The drawing cannot be shown: ${error.message}`, [], { bad: true }));

// The latest place of a drag wins: the next one is sent when the last one has been shown.
function byHand(kind, body) {
  if (kind !== "drag") return tell(kind, body);
  if (dragging.sent) {
    dragging.next = body;
    return true;
  }
  dragging.sent = body;
  dragging.at = handAt || performance.now();
  dragging.revision = -1;
  if (!tell("drag", body)) dragging.sent = null;
  return true;
}

function dragDone() {
  if (!dragging.sent) return;
  dragging.sent = null;
  const next = dragging.next;
  dragging.next = null;
  if (next) byHand("drag", next);
}

// ---------------------------------------------------------------- what the server says

const heard = {
  open(message) {
    editor.open(message);
    facts(message);
    dropNotice("lost");
    dropNotice("draft");
    if (message.draft) offerDraft(message.draft);
  },
  text(message) {
    const asked = message.own ? editor.sentAt : dragging.sent ? dragging.at : performance.now();
    if (asked) waiting.set(message.revision, asked);
    if (!message.own && dragging.sent) dragging.revision = message.revision;
    editor.heard(message);
    facts(message);
  },
  judged(message) {
    editor.showProblems(message.revision === editor.revision ? message.problems : []);
    showProblems(message.problems);
    byId("stale").hidden = Boolean(message.scene);
    document.body.classList.toggle("is-stale", !message.scene);
    if (message.scene) {
      scene = message.scene;
      if (drawing) drawing.show(scene);
      brought = message.verdict.brought;
      verdict.show(message.verdict, message.figures);
    }
    shown(message.revision);
    if (dragging.sent && dragging.revision >= 0 && message.revision >= dragging.revision) dragDone();
  },
  facts,
  same: () => dragDone(),
  moved(message) {
    drawing?.moved?.(message.note);
    if (message.note) say(message.note);
  },
  refused_drag(message) {
    drawing?.refuse(message.message);
    say(message.message);
    if (dragging.sent) dragDone();
  },
  answer: (message) => drawing?.answer?.(message),
  refused_text(message) {
    editor.refused(message);
    facts(message);
  },
  note(message) {
    clearTimeout(noting);
    notice("note", message.words, [["Put away", () => dropNotice("note")]], { bad: message.bad, passing: true });
    if (!message.bad) noting = setTimeout(() => dropNotice("note"), 4000);
  },
  plan: (message) => remedies.show(message),
  difference(message) {
    byId("difference-title").textContent = `The text here (−) and ${message.title} (+)`;
    showDifference(byId("difference-lines"), message.lines.length ? message.lines : [" The two are the same."]);
    byId("difference-sheet").showModal();
  },
  lost: (message) => notice("lost", message.words, [], { bad: true }),
};

const wire = new Wire(
  file,
  (message) => heard[message.kind]?.(message),
  (isOpen) => {
    document.body.classList.toggle("is-cut", !isOpen);
    if (isOpen) {
      dropNotice("cut");
      editor.flush();
    } else {
      dragging.sent = null;
      dragging.next = null;
      notice("cut", "The bench does not answer. What you type stays here, and is sent when it answers again.", [], { bad: true });
    }
  },
);

// How long it took from the hand to the picture: kept as measures of the page, for whoever asks.
function shown(revision) {
  for (const [asked, at] of waiting) {
    if (asked > revision) continue;
    waiting.delete(asked);
    // After the frame in which it is painted.
    requestAnimationFrame(() => setTimeout(() => {
      performance.measure("bench-update", { start: at, end: performance.now(), detail: { revision: asked } });
    }));
  }
}

function facts(message) {
  put(byId("saved"), message.is_new ? "not in a file yet" : message.saved ? "saved" : "not saved");
  byId("saved").dataset.state = message.saved ? "saved" : "unsaved";
  byId("undo").disabled = !message.can_undo;
  byId("redo").disabled = !message.can_redo;
  document.title = `${message.saved ? "" : "* "}${message.name} on the bench`;
  document.body.dataset.saved = String(message.saved);
  if (message.on_disk === "changed") {
    if (!document.querySelector('[data-notice="disk"]')) {
      notice("disk", `Another program has changed ${message.name}, and there is unsaved work here.`, [
        ["Take theirs", () => tell("take_theirs")],
        ["Keep mine", () => tell("keep_mine")],
        ["See the difference", () => tell("difference", { with: "disk" })],
      ], { bad: true });
    }
  } else if (message.on_disk === "gone") {
    notice("disk", `${message.name} is no longer in its folder. Saving writes it again.`, [], { bad: true });
  } else dropNotice("disk");
}

function offerDraft(draft) {
  const when = new Date(draft.when).toLocaleString();
  const stale = draft.stale ? " The file has been changed since." : "";
  notice("draft", `Unsaved work on this design was kept from ${when}.${stale}`, [
    ["Bring it back", () => (tell("take_draft"), dropNotice("draft"))],
    ["See the difference", () => tell("difference", { with: "draft" })],
    ["Throw it away", () => (tell("drop_draft"), dropNotice("draft"))],
  ]);
}

function keepAside(text) {
  const area = make("textarea", { readonly: true, rows: 6, "aria-label": "The text as you had it" });
  area.value = text;
  notice("kept", "Somebody else changed the same place at the same moment. The text as you had it:",
    [["Put away", () => dropNotice("kept")]], { bad: true, extra: area });
}

function showProblems(problems) {
  const place = byId("problems");
  const told = JSON.stringify(problems);
  if (place.dataset.told === told) return;
  place.dataset.told = told;
  place.replaceChildren(
    ...problems.slice(0, 40).map((problem) =>
      make("button", { type: "button", class: `problem ${problem.severity}`, onclick: () => problem.line && editor.goTo(problem.line, problem.column) },
        make("span", { class: "sign", "aria-hidden": "true" }, problem.severity === "error" ? "✕" : "!"),
        make("span", {}, problem.line ? `Line ${problem.line}` : "File"),
        make("span", {}, `${problem.severity === "error" ? "" : "Warning: "}${ended(problem.sentence)}`)),
    ),
  );
  if (problems.length) say(`${problems.length} ${problems.length === 1 ? "problem" : "problems"}: ${problems[0].sentence}`);
}

function ended(sentence) {
  return /[.?!]$/.test(sentence) ? sentence : `${sentence}.`;
}

// ---------------------------------------------------------------- buttons and keys

byId("save").addEventListener("click", () => tell("save"));
byId("undo").addEventListener("click", () => tell("undo"));
byId("redo").addEventListener("click", () => tell("redo"));
byId("light").addEventListener("click", () => globalThis.turnLight());

byId("copy").addEventListener("click", () => {
  byId("copy-name").value = file.replace(/\.toml$/i, "-2.toml");
  byId("copy-refused").textContent = "";
  byId("copy-sheet").showModal();
});
byId("copy-form").addEventListener("submit", async (event) => {
  if (event.submitter?.value !== "copy") return;
  event.preventDefault();
  try {
    const made = await post("/copy", { file, as: byId("copy-name").value });
    location.href = `/design?file=${encodeURIComponent(made.file)}`;
  } catch (error) {
    byId("copy-refused").textContent = error.message;
  }
});

const parts = ["text", "car", "verdict"];

document.addEventListener("keydown", (event) => {
  const command = event.ctrlKey || event.metaKey;
  if (command && event.key.toLowerCase() === "s") {
    event.preventDefault();
    tell("save");
  } else if (command && event.key.toLowerCase() === "z" && !isField(event.target)) {
    event.preventDefault();
    tell(event.shiftKey ? "redo" : "undo");
  } else if (command && event.key.toLowerCase() === "y" && !isField(event.target)) {
    event.preventDefault();
    tell("redo");
  } else if (event.key === "F6") {
    event.preventDefault();
    const here = parts.findIndex((id) => byId(id).contains(document.activeElement));
    const next = parts[(here + (event.shiftKey ? parts.length - 1 : 1)) % parts.length];
    if (next === "text") editor.view.focus();
    else if (next === "verdict") (byId("rules").querySelector("button.rule") || byId("verdict")).focus();
    else (byId("drawing").querySelector("[tabindex='0']") || byId("car")).focus();
  }
});

function isField(element) {
  return element.closest("input, textarea, select, .cm-editor") !== null;
}

addEventListener("beforeunload", (event) => {
  // Work that is not saved stays on the bench and in its draft; only words not sent yet would be lost.
  if (editor.inflight || editor.pending) event.preventDefault();
});
