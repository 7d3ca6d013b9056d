// Remedies: looked for on the server, shown before anything is changed, taken as one step of the history.

import { byId, make } from "./dom.js";

export class Remedies {
  constructor(tell) {
    this.tell = tell;
    this.sheet = byId("plan-sheet");
    this.running = false;
    byId("mend").addEventListener("click", () => this.look(""));
    byId("plan-stop").addEventListener("click", () => this.stop());
    byId("plan-take").addEventListener("click", () => {
      this.tell("fix_apply");
      this.sheet.close();
    });
    this.sheet.addEventListener("close", () => this.stop());
  }

  look(clause) {
    this.running = this.tell("fix", { clause });
    byId("plan-head").textContent = clause
      ? `Looking for the smallest change that mends ${clause}.`
      : "Looking for the smallest changes that make the car pass.";
    byId("plan-body").replaceChildren();
    byId("plan-difference").replaceChildren();
    byId("plan-take").disabled = true;
    byId("plan-stop").hidden = false;
    if (!this.sheet.open) this.sheet.showModal();
  }

  stop() {
    if (!this.running) return;
    this.running = false;
    this.tell("fix_stop");
    byId("plan-head").textContent = "Stopped.";
    byId("plan-stop").hidden = true;
  }

  show(plan) {
    if (!this.running) return;
    this.running = false;
    byId("plan-stop").hidden = true;
    if (plan.failed) {
      byId("plan-head").textContent = plan.failed;
      return;
    }
    byId("plan-head").textContent = plan.headline;
    const body = byId("plan-body");
    if (plan.changes.length) {
      body.append(
        make(
          "ol",
          { class: "plan" },
          ...plan.changes.map((change) =>
            make("li", {}, make("b", {}, `${change.clause} ${change.title}`), make("p", {}, change.sentence),
              ...change.sides.map((side) => make("p", { class: "soft" }, side))),
          ),
        ),
      );
    }
    if (plan.left.length) {
      body.append(
        make("h3", {}, "Still broken"),
        make("ul", { class: "plan" }, ...plan.left.map((each) =>
          make("li", {}, make("b", {}, `${each.clause} ${each.title}`), ...each.sentences.map((text) => make("p", {}, text))))),
      );
    }
    if (plan.cut) body.append(make("p", { class: "soft" }, "Time was up before everything was tried."));
    showDifference(byId("plan-difference"), plan.difference);
    const take = byId("plan-take");
    take.disabled = plan.changes.length === 0;
    if (!take.disabled) take.focus({ preventScroll: true });
  }
}

export function showDifference(place, lines) {
  place.replaceChildren(
    ...lines.map((line) => {
      const kind = line.startsWith("+") ? "more" : line.startsWith("-") ? "less" : line.startsWith("@@") ? "where" : "same";
      const text = kind === "where" ? `line ${/\+(\d+)/.exec(line)?.[1] || ""}` : line.replace(/^-/, "−");
      return make("span", { class: kind }, `${text}\n`);
    }),
  );
}
