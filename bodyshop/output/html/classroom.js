"use strict";
// Columns are sorted by their headings. Without this script the table stands as it was written, worst first.
for (const table of document.querySelectorAll("table.sorted")) {
  const body = table.tBodies[0];
  const heads = [...table.tHead.rows[0].cells];
  heads.forEach((head, column) => {
    if (!head.dataset.by) return;
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = head.textContent;
    head.replaceChildren(button);
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending";
      heads.forEach((other) => other.removeAttribute("aria-sort"));
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      const key = (row) => row.cells[column].dataset.key ?? row.cells[column].textContent.trim();
      const compare =
        head.dataset.by === "number"
          ? (one, two) => Number(key(one)) - Number(key(two))
          : (one, two) => key(one).localeCompare(key(two), undefined, { numeric: true });
      const rows = [...body.rows].sort((one, two) => (down ? -compare(one, two) : compare(one, two)));
      body.append(...rows);
    });
  });
}
