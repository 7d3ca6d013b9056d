// The verdict: every rule with its state, worst first, kept as elements of their own so that an update
// touches only what has changed.

import { byId, make, put } from "./dom.js";

export class Verdict {
  // `chosen(rule)` hears which rule is looked at, null for none; `mend(clause)` asks for a remedy;
  // `line(number)` goes to a line of the text.
  constructor({ chosen, mend, line }) {
    this.chosen = chosen;
    this.mend = mend;
    this.line = line;
    this.list = byId("rules");
    this.rows = new Map();
    this.open = "";
    this.list.addEventListener("keydown", (event) => this.keys(event));
  }

  show(verdict, figures) {
    const headline = byId("headline");
    put(headline, verdict.headline);
    headline.dataset.state = verdict.passes ? "pass" : "fail";
    this.showFigures(figures);
    const seen = new Set();
    let place = this.list.firstElementChild;
    for (const rule of verdict.rules) {
      seen.add(rule.clause);
      const row = this.rows.get(rule.clause) || this.begin(rule.clause);
      this.fill(row, rule);
      if (row.item === place) place = place.nextElementSibling;
      else this.list.insertBefore(row.item, place);
    }
    for (const [clause, row] of this.rows) {
      if (seen.has(clause)) continue;
      row.item.remove();
      this.rows.delete(clause);
      if (clause === this.open) this.choose("");
    }
    if (this.open) this.chosen(this.rows.get(this.open)?.rule || null);
  }

  showFigures(figures) {
    const list = byId("figures");
    const wanted = figures.live.length;
    while (list.children.length > wanted) list.lastElementChild.remove();
    while (list.children.length < wanted) {
      list.append(make("div", {}, make("dt"), make("dd", {}, make("b"), make("span", { class: "soft" }))));
    }
    figures.live.forEach(([name, value, more], index) => {
      const box = list.children[index];
      put(box.firstElementChild, name);
      put(box.lastElementChild.firstElementChild, value);
      put(box.lastElementChild.lastElementChild, more ? ` ${more}` : "");
    });
  }

  begin(clause) {
    const id = `rule-${this.rows.size}-${clause.replace(/\W/g, "_")}`;
    const parts = Object.fromEntries(
      ["sign", "word", "clause", "title", "measured", "margin"].map((name) => [name, make("span", { class: name })]),
    );
    parts.sign.setAttribute("aria-hidden", "true");
    const button = make(
      "button",
      { type: "button", class: "rule", "aria-expanded": "false", "aria-controls": id, onclick: () => this.choose(clause === this.open ? "" : clause) },
      parts.sign, parts.word, parts.clause, parts.title, parts.measured, parts.margin,
    );
    const more = make("div", { class: "more", id, hidden: true });
    const row = { item: make("li", {}, button, more), button, more, parts, rule: null, told: "" };
    this.rows.set(clause, row);
    return row;
  }

  fill(row, rule) {
    const told = JSON.stringify(rule);
    if (row.told === told) return;
    row.told = told;
    row.rule = rule;
    row.item.dataset.state = rule.state;
    put(row.parts.sign, rule.sign);
    put(row.parts.word, rule.word);
    put(row.parts.clause, rule.clause);
    put(row.parts.title, rule.title);
    put(row.parts.measured, rule.measured);
    put(row.parts.margin, rule.margin);
    if (this.open === rule.clause) this.fillMore(row);
  }

  fillMore(row) {
    const { rule, more } = row;
    const lines = [
      ["Asked", rule.limit],
      ["Check", rule.check],
      ["Where", rule.where],
      ["Why", rule.why],
      ["Cost", rule.cost],
      ["Change", rule.change],
    ].filter(([, text]) => text);
    more.replaceChildren(
      make("dl", {}, ...lines.flatMap(([name, text]) => [make("dt", {}, name), make("dd", {}, text)])),
    );
    const deeds = [];
    const line = /line (\d+)/.exec(rule.change);
    if (line) deeds.push(make("button", { type: "button", onclick: () => this.line(Number(line[1])) }, `Go to line ${line[1]}`));
    if (rule.mendable) deeds.push(make("button", { type: "button", onclick: () => this.mend(rule.clause) }, `Find a remedy for ${rule.clause}`));
    if (deeds.length) more.append(make("p", { class: "deeds" }, ...deeds));
  }

  choose(clause) {
    const before = this.rows.get(this.open);
    if (before) {
      before.button.setAttribute("aria-expanded", "false");
      before.more.hidden = true;
    }
    this.open = clause;
    const row = this.rows.get(clause);
    if (row) {
      row.button.setAttribute("aria-expanded", "true");
      row.more.hidden = false;
      this.fillMore(row);
    }
    this.chosen(row?.rule || null);
  }

  // Arrow keys walk the rules, Escape closes the one that is open.
  keys(event) {
    const buttons = [...this.list.querySelectorAll("button.rule")];
    const at = buttons.indexOf(document.activeElement);
    if (event.key === "Escape" && this.open) {
      this.choose("");
      return;
    }
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!step || at < 0) return;
    event.preventDefault();
    buttons[Math.max(0, Math.min(buttons.length - 1, at + step))].focus();
  }
}
