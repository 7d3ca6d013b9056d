// A small box beside a handle, in which its numbers are typed.

import { html } from "./dom.js";

export class ValueBox {
  constructor(board) {
    this.board = board;
    this.handle = null;
    this.rows = html("div", { class: "dr-value-rows" });
    this.element = html(
      "form",
      {
        class: "dr-value",
        hidden: true,
        onsubmit: (event) => {
          event.preventDefault();
          this.put();
        },
        onkeydown: (event) => {
          if (event.key !== "Escape") return;
          event.preventDefault();
          this.close();
        },
      },
      this.rows,
      html("button", { type: "submit" }, "Set"),
      html("button", { type: "button", onclick: () => this.close() }, "Leave"),
    );
  }

  open(handle) {
    this.handle = handle;
    this.inputs = handle.numbers.map((number) =>
      html("input", { value: number.text, autocomplete: "off", spellcheck: "false", size: "9" }));
    this.rows.replaceChildren(
      ...handle.numbers.map((number, index) => html("label", {}, `${number.name} `, this.inputs[index])));
    this.element.setAttribute("aria-label", `Numbers of ${handle.label}`);
    this.element.hidden = false;
    const [x, y] = this.board.paper.toScreen(handle.view, handle.at);
    const { width, height } = this.board.paper.size();
    this.element.style.left = `${Math.max(4, Math.min(x + 14, width - this.element.offsetWidth - 4))}px`;
    this.element.style.top = `${Math.max(4, Math.min(y + 14, height - this.element.offsetHeight - 4))}px`;
    this.inputs[0].focus();
    this.inputs[0].select();
  }

  put() {
    const step = this.board.hold.newStep();
    this.inputs.forEach((input, number) => {
      const typed = input.value.trim();
      if (typed && typed !== this.handle.numbers[number].text) {
        this.board.act("set", { handle: this.handle.id, number, text: typed, step });
      }
    });
    this.close();
  }

  close() {
    this.element.hidden = true;
    if (this.handle) this.board.handles.focus(this.handle.id);
  }
}
