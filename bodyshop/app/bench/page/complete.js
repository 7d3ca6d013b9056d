// What can stand here: keys of the table that the caret is in, and what a key may be.

const HEADER = /^\s*\[\[?\s*([^\]]+?)\s*\]\]?/;
const KEY_BEFORE = /([A-Za-z_][\w.]*)\s*=\s*("[^"]*|[\w.-]*)$/;

export function completions(context, words) {
  if (!words) return null;
  const { state, pos } = context;
  const line = state.doc.lineAt(pos);
  const before = line.text.slice(0, pos - line.from);
  if (isComment(before)) return null;
  const table = tableAt(state.doc, line.number);
  const open = braceBefore(state.doc, line.number, pos - line.from);
  const inner = open ? open.text : before;
  const value = KEY_BEFORE.exec(inner);
  const closed = line.text[pos - line.from] === '"' ? 1 : 0; // the second quote that came with the first
  if (value && !/[,{]\s*$/.test(inner)) return valuesOf(value, table, open, words, pos, closed);
  if (open || /^\s*[\w.]*$/.test(before)) return keysOf(inner, table, open, words, context);
  if (/^\s*\[\[?\s*[\w.]*$/.test(before)) return tablesOf(before, words, pos);
  return null;
}

function isComment(text) {
  let quote = "";
  for (const char of text) {
    if (quote) quote = char === quote ? "" : quote;
    else if (char === '"' || char === "'") quote = char;
    else if (char === "#") return true;
  }
  return false;
}

function tableAt(doc, number) {
  for (let at = number; at >= 1; at -= 1) {
    const found = HEADER.exec(doc.line(at).text);
    // A line that begins with a bracket and holds a number is a point, and no header.
    if (found && /^[A-Za-z_][\w.]*$/.test(found[1])) return found[1];
  }
  return "";
}

// The text behind the last brace that is still open, and the key whose value it is in.
function braceBefore(doc, number, column) {
  const from = Math.max(1, number - 200);
  const lines = [];
  for (let at = from; at <= number; at += 1) {
    const text = doc.line(at).text;
    lines.push(at === number ? text.slice(0, column) : text);
  }
  const text = lines.join("\n");
  let depth = 0;
  for (let at = text.length - 1; at >= 0; at -= 1) {
    if (text[at] === "}") depth += 1;
    else if (text[at] === "{") {
      if (depth === 0) {
        const keys = [...text.slice(0, at).matchAll(/^\s*([A-Za-z_]\w*)\s*=/gm)];
        return { text: text.slice(at + 1), key: keys.length ? keys[keys.length - 1][1] : "" };
      }
      depth -= 1;
    } else if (text[at] === "\n" && HEADER.test(text.slice(at + 1).split("\n")[0]) && depth === 0) {
      if (/^\s*\[\[?\s*[A-Za-z_]/.test(text.slice(at + 1))) return null;
    }
  }
  return null;
}

function fieldsOf(table, open, words) {
  const path = open && open.key ? `${table}.${open.key}`.replace(/^\./, "") : table;
  return words.tables[path] || null;
}

function keysOf(inner, table, open, words, context) {
  const fields = fieldsOf(table, open, words);
  if (!fields) return null;
  const word = /[\w]*$/.exec(inner)[0];
  if (!word && !context.explicit && !/[{,]\s*$/.test(inner)) return null;
  const options = Object.entries(fields)
    .filter(([, field]) => !["table", "tables"].includes(field.kind))
    .map(([label, field]) => ({
      label,
      type: "property",
      apply: `${label} = `,
      info: field.default ? `${field.doc} Left out: ${field.default}.` : field.doc,
    }));
  if (!open && !table) options.push(...headers(words));
  return { from: context.pos - word.length, options, validFor: /^\w*$/ };
}

function headers(words) {
  return Object.keys(words.tables)
    .filter((name) => name && !name.includes("points"))
    .map((name) => ({ label: name, type: "class", apply: many(words, name) ? `[[${name}]]` : `[${name}]` }));
}

function many(words, name) {
  const cut = name.lastIndexOf(".");
  const above = words.tables[cut < 0 ? "" : name.slice(0, cut)];
  return above?.[name.slice(cut + 1)]?.kind === "tables";
}

function tablesOf(before, words, pos) {
  const typed = /\[\[?\s*[\w.]*$/.exec(before)[0];
  return { from: pos - typed.length, options: headers(words).map((each) => ({ ...each, label: each.apply })), filter: true };
}

function valuesOf([, key, typed], table, open, words, pos, closed) {
  const from = pos - typed.length;
  const to = pos + (typed.startsWith('"') ? closed : 0);
  if (key === "measure") {
    const options = words.measures.map(({ label, detail, info }) => ({ label: `"${label}"`, detail, info }));
    return { from, to, options, validFor: /^"?[\w.]*"?$/ };
  }
  const field = fieldsOf(table, open, words)?.[key];
  if (!field || !field.values.length) return null;
  const own = words.brought?.[field.shelf] ?? []; // what the event brings itself
  const options = [...field.values, ...own].map(({ label, detail }) => ({ label, detail, type: "constant" }));
  return { from, to, options, validFor: /^"?[\w.-]*"?$/ };
}
