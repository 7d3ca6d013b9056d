// Papers: made on the server beside everything else, looked at here, taken away as files.

import { byId, get, make } from "./dom.js";

export class Papers {
  // `show3d(element)` shows the body in space in an element, null puts it back.
  constructor(file, { show3d }) {
    this.file = file;
    this.show3d = show3d;
    this.asked = 0;
    this.sheet = byId("papers-sheet");
    this.size = byId("paper-size");
    this.size.append(make("option", { value: "" }, "as usual here"));
    this.size.addEventListener("change", () => this.load());
    byId("paper-kind").addEventListener("change", () => this.load());
    this.sheet.addEventListener("close", () => this.show3d(null));
    byId("papers").addEventListener("click", () => {
      this.sheet.showModal();
      this.load();
    });
  }

  async load() {
    const asked = (this.asked += 1);
    const kind = this.sheet.querySelector("input[name=kind]:checked").value;
    const query = new URLSearchParams({ file: this.file, sheet: this.size.value });
    const state = byId("paper-state");
    const view = byId("paper-view");
    const files = byId("paper-files");
    state.textContent = "It is being drawn.";
    state.className = "";
    this.show3d(null);
    view.replaceChildren();
    files.replaceChildren();
    if (kind === "solid") this.show3d(view); // its file takes longer than its picture
    this.size.disabled = kind === "solid";
    let answer;
    try {
      answer = await get(`/papers/${kind}?${query}`);
    } catch (error) {
      if (asked !== this.asked) return;
      state.textContent = error.message;
      state.className = "bad";
      return;
    }
    if (asked !== this.asked) return;
    const found = answer.files;
    this.showSizes(answer.sizes);
    const address = (name, keep) => `/papers/${kind}/${encodeURIComponent(name)}?${query}${keep ? "&keep=1" : ""}`;
    const sheets = found.filter(({ name }) => name.endsWith(".svg"));
    const others = found.filter(({ name }) => !name.endsWith(".svg"));
    state.textContent = sheets.length
      ? `${sheets.length} ${sheets.length === 1 ? "sheet" : "sheets"}. Print at actual size (100 %).`
      : "Ready to be taken away.";
    if (kind === "report") state.textContent = `${sheets.length} sheets, and the same as a web page.`;
    files.append(
      ...[...others, ...sheets].map(({ name, size, label }) =>
        make(
          "a",
          { href: address(name, true), download: name },
          `${label} `,
          make("small", {}, `${name}, ${Math.max(1, Math.round(size / 1000))} kB`),
        ),
      ),
    );
    view.append(
      ...sheets.map(({ name }, index) =>
        make("img", { src: address(name, false), alt: `Sheet ${index + 1} of ${sheets.length}`, loading: "lazy" }),
      ),
    );
  }

  // The sizes of paper that there are, told with the first paper.
  showSizes(sizes) {
    if (this.size.options.length > 1) return;
    this.size.append(...sizes.map(({ id, name }) => make("option", { value: id }, name)));
  }
}
