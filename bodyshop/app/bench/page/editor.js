// The text: an editor whose document is the server's. What is typed goes there as changes of a known
// revision, one lot at a time; what others change comes from there and is put under what is on its way.
// There is one history, and the server keeps it.

import * as CM from "nicegui-codemirror";
import { completions } from "./complete.js";

const Remote = CM.Annotation.define();
const setProblems = CM.StateEffect.define();
const setFlash = CM.StateEffect.define();

class Sign extends CM.GutterMarker {
  constructor(severity, words) {
    super();
    this.severity = severity;
    this.words = words;
  }
  eq(other) {
    return other.severity === this.severity && other.words === this.words;
  }
  toDOM() {
    const sign = document.createElement("span");
    sign.className = `cm-fault cm-fault-${this.severity}`;
    sign.textContent = this.severity === "error" ? "✕" : "!";
    sign.title = this.words;
    return sign;
  }
}

const marks = CM.StateField.define({
  create: () => ({ under: CM.Decoration.none, signs: CM.RangeSet.empty, told: [] }),
  update(value, transaction) {
    for (const effect of transaction.effects) {
      if (effect.is(setProblems)) return marked(transaction.state.doc, effect.value);
    }
    if (!transaction.docChanged) return value;
    return {
      under: value.under.map(transaction.changes),
      signs: value.signs.map(transaction.changes),
      told: value.told,
    };
  },
  provide: (field) => CM.EditorView.decorations.from(field, (value) => value.under),
});

const flash = CM.StateField.define({
  create: () => CM.Decoration.none,
  update(value, transaction) {
    for (const effect of transaction.effects) {
      if (!effect.is(setFlash)) continue;
      if (effect.value === null) return CM.Decoration.none;
      const line = transaction.state.doc.line(effect.value);
      return CM.Decoration.set([CM.Decoration.line({ class: "cm-pointed" }).range(line.from)]);
    }
    return value.map(transaction.changes);
  },
  provide: (field) => CM.EditorView.decorations.from(field),
});

// A column counts characters, an offset 16-bit units.
function offset(doc, lineNumber, column) {
  const line = doc.line(Math.max(1, Math.min(lineNumber, doc.lines)));
  const units = [...line.text].slice(0, Math.max(0, column - 1)).join("").length;
  return Math.min(line.to, line.from + units);
}

function marked(doc, problems) {
  const under = [];
  const lines = new Map();
  for (const problem of problems) {
    if (problem.line === null) continue;
    const from = offset(doc, problem.line, problem.column);
    let to = Math.max(from, offset(doc, problem.end_line, problem.end_column));
    if (to === from) to = Math.min(doc.length, from + 1);
    if (to > from) {
      const mark = CM.Decoration.mark({
        class: `cm-under cm-under-${problem.severity}`,
        attributes: { title: problem.sentence },
      });
      under.push(mark.range(from, to));
    }
    const line = doc.lineAt(from);
    const there = lines.get(line.from) || { severity: "warning", words: [] };
    if (problem.severity === "error") there.severity = "error";
    there.words.push(problem.sentence);
    lines.set(line.from, there);
  }
  const signs = [...lines].map(([at, { severity, words }]) => new Sign(severity, words.join("\n")).range(at));
  return { under: CM.Decoration.set(under, true), signs: CM.RangeSet.of(signs, true), told: problems };
}

// Styles by what a thing is; their colours are in the style sheet, for light and dark.
function highlighting() {
  const classes = [
    [/comment/i, "tok-comment"],
    [/propertyName/, "tok-key"],
    [/^(string|special\(string\)|regexp|escape)/, "tok-string"],
    [/^(literal|number|inserted)/, "tok-number"],
    [/^(atom|bool|keyword)/, "tok-word"],
    [/invalid/, "tok-invalid"],
  ];
  const specs = [];
  for (const spec of CM.defaultHighlightStyle.specs) {
    for (const tag of Array.isArray(spec.tag) ? spec.tag : [spec.tag]) {
      const found = classes.find(([pattern]) => pattern.test(String(tag)));
      if (!found) continue;
      specs.push({ tag, class: found[1] });
      if (found[1] === "tok-key" && tag.base) specs.push({ tag: tag.base, class: "tok-key" });
    }
  }
  return CM.syntaxHighlighting(CM.HighlightStyle.define(specs));
}

// The check sum of ISO 3309 (and of PNG and zip), over the text in UTF-8.
const CRC = Uint32Array.from({ length: 256 }, (_, byte) => {
  let sum = byte;
  for (let bit = 0; bit < 8; bit += 1) sum = sum & 1 ? (sum >>> 1) ^ 0xedb88320 : sum >>> 1;
  return sum;
});

function crc32(text) {
  let sum = 0xffffffff;
  for (const byte of new TextEncoder().encode(text)) sum = CRC[(sum ^ byte) & 255] ^ (sum >>> 8);
  return (sum ^ 0xffffffff) >>> 0;
}

async function toml() {
  const found = CM.languages.find((language) => language.name === "TOML");
  return found ? await found.load() : [];
}

export class Editor {
  // `tell(kind, body)` reaches the server and says whether it did; `kept(text)` is handed words that could
  // not be put in; `now()` is when the hand last did something.
  constructor(parent, { tell, kept, words, nonce, now }) {
    this.now = now;
    this.tell = tell;
    this.kept = kept;
    this.revision = -1;
    this.length = 0;
    this.inflight = null;
    this.pending = null;
    this.sentAt = 0;
    const language = new CM.Compartment();
    const source = (context) => completions(context, words()); // one and the same, or it is asked for ever
    const ask = (kind) => () => {
      this.tell(kind);
      return true;
    };
    const keys = CM.keymap.of([
      { key: "Mod-z", run: ask("undo"), preventDefault: true },
      { key: "Mod-y", run: ask("redo"), preventDefault: true },
      { key: "Mod-Shift-z", run: ask("redo"), preventDefault: true },
      { key: "F8", run: () => this.nextProblem() },
    ]);
    const native = CM.EditorView.domEventHandlers({
      beforeinput: (event) => {
        if (event.inputType === "historyUndo") return this.tell("undo") || true;
        if (event.inputType === "historyRedo") return this.tell("redo") || true;
        return false;
      },
    });
    this.view = new CM.EditorView({
      parent,
      state: CM.EditorState.create({
        doc: "",
        extensions: [
          CM.EditorView.cspNonce.of(nonce),
          CM.Prec.highest([keys, native]),
          CM.gutter({ class: "cm-faults", markers: (view) => view.state.field(marks).signs, initialSpacer: () => new Sign("warning", "") }),
          marks,
          flash,
          CM.basicSetup,
          highlighting(),
          language.of([]),
          CM.EditorState.languageData.of(() => [{ autocomplete: source }]),
          CM.EditorState.tabSize.of(2),
          CM.EditorView.contentAttributes.of({
            "aria-label": "Text of the design",
            spellcheck: "false",
            autocapitalize: "off",
          }),
          CM.EditorView.updateListener.of((update) => this.updated(update)),
        ],
      }),
    });
    parent.editorView = this.view; // for whoever looks at the page from outside
    toml().then((loaded) => this.view.dispatch({ effects: language.reconfigure(loaded) }));
  }

  get text() {
    return this.view.state.doc.toString();
  }

  // ---------------------------------------------------------------- to and from the server

  updated(update) {
    for (const transaction of update.transactions) {
      if (!transaction.docChanged || transaction.annotation(Remote)) continue;
      this.pending = this.pending ? this.pending.compose(transaction.changes) : transaction.changes;
      if (!this.sentAt) this.sentAt = this.now();
    }
    this.flush();
  }

  flush() {
    if (this.inflight || !this.pending || this.revision < 0) return;
    const splices = [];
    this.pending.iterChanges((from, to, _a, _b, inserted) => splices.push([from, to, inserted.toString()]), true);
    if (!this.tell("type", { base: this.revision, splices })) return;
    this.inflight = this.pending;
    this.pending = null;
  }

  open(message) {
    const unsent = this.inflight !== null || this.pending !== null;
    const here = this.text;
    const waiting = this.inflight && this.pending ? this.inflight.compose(this.pending) : this.inflight || this.pending;
    const known = this.revision;
    this.revision = message.revision;
    this.length = message.text.length;
    this.inflight = null;
    this.pending = null;
    if (unsent && here !== message.text) {
      if (known === message.revision && waiting.length === this.length) {
        this.pending = waiting; // it never got there
        this.flush();
        return;
      }
      this.kept(here);
    }
    this.replace(message.text);
  }

  heard(message) {
    if (message.own) {
      this.inflight = null;
      this.revision = message.revision;
      if (message.splice) this.length = message.length;
      this.sentAt = 0;
      if (message.splice) this.compare(message);
      this.flush();
      return;
    }
    if (!message.splice) return;
    if (message.base !== this.revision) {
      this.tell("again");
      return;
    }
    const [from, to, insert] = message.splice;
    let changes = CM.ChangeSet.of({ from, to, insert }, this.length);
    if (this.inflight) {
      const under = this.inflight.map(changes);
      changes = changes.map(this.inflight, true);
      this.inflight = under;
    }
    if (this.pending) {
      const under = this.pending.map(changes);
      changes = changes.map(this.pending, true);
      this.pending = under;
    }
    this.revision = message.revision;
    this.length = message.length;
    this.view.dispatch({ changes, annotations: [Remote.of(true), CM.Transaction.addToHistory.of(false)] });
    this.compare(message);
  }

  // With nothing on its way, the text here is that of the server, or all of it is asked for again.
  compare(message) {
    if (this.inflight || this.pending) return;
    const doc = this.view.state.doc;
    if (doc.length !== this.length || crc32(doc.toString()) !== message.check) this.tell("again");
  }

  refused(message) {
    const here = this.text;
    this.inflight = null;
    this.pending = null;
    this.revision = message.revision;
    this.length = message.text.length;
    this.replace(message.text);
    this.kept(here);
  }

  replace(text) {
    const here = this.text;
    if (here === text) return;
    let head = 0;
    const most = Math.min(here.length, text.length);
    while (head < most && here[head] === text[head]) head += 1;
    let tail = 0;
    while (tail < most - head && here[here.length - 1 - tail] === text[text.length - 1 - tail]) tail += 1;
    this.view.dispatch({
      changes: { from: head, to: here.length - tail, insert: text.slice(head, text.length - tail) },
      annotations: [Remote.of(true), CM.Transaction.addToHistory.of(false)],
    });
  }

  // ---------------------------------------------------------------- problems and places

  showProblems(problems) {
    const before = this.view.state.field(marks).told;
    if (JSON.stringify(before) === JSON.stringify(problems)) return;
    this.view.dispatch({ effects: setProblems.of(problems) });
  }

  goTo(line, column = 1, { focus = true } = {}) {
    const doc = this.view.state.doc;
    const at = offset(doc, line, column);
    const shown = doc.lineAt(at).number;
    this.view.dispatch({
      selection: { anchor: at },
      effects: [setFlash.of(shown), CM.EditorView.scrollIntoView(at, { y: "center" })],
    });
    if (focus) this.view.focus();
    clearTimeout(this.flashing);
    this.flashing = setTimeout(() => this.view.dispatch({ effects: setFlash.of(null) }), 2500);
  }

  nextProblem() {
    const told = this.view.state.field(marks).told.filter((problem) => problem.line !== null);
    if (!told.length) return false;
    const here = this.view.state.doc.lineAt(this.view.state.selection.main.head).number;
    const next = told.find((problem) => problem.line > here) || told[0];
    this.goTo(next.line, next.column);
    return true;
  }
}
