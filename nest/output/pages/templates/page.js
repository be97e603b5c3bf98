"use strict";
// Adds to a page that is whole without it: tables sort by a press on a heading.
(() => {
  const value = cell => {
    const text = (cell.dataset.v ?? cell.textContent).trim();
    const number = Number.parseFloat(text.replace("%", ""));
    return Number.isNaN(number) || !/^[-+]?[\d.]/.test(text) ? text : number;
  };
  const order = (a, b) =>
    typeof a === "number" && typeof b === "number" ? a - b : String(a).localeCompare(String(b), undefined, {numeric: true});
  for (const table of document.querySelectorAll("table[data-sort]")) {
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((head, column) => {
      if (!head.textContent.trim()) return;
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      head.append(button);
      button.addEventListener("click", () => {
        const down = head.getAttribute("aria-sort") === "ascending";
        heads.forEach(other => other.removeAttribute("aria-sort"));
        head.setAttribute("aria-sort", down ? "descending" : "ascending");
        const body = table.tBodies[0];
        const rows = [...body.rows].map(row => [value(row.cells[column]), row]);
        rows.sort((a, b) => (down ? -1 : 1) * order(a[0], b[0]));
        body.append(...rows.map(pair => pair[1]));
      });
    });
  }
})();
