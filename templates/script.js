"use strict";
(() => {
  const order = new Intl.Collator("en", { numeric: true, sensitivity: "base" });

  function compare(column, isNumber, a, b) {
    const [x, y] = [a, b].map((row) => row.cells[column].textContent.trim());
    if (isNumber) {
      const [m, n] = [x, y].map((text) => (text === "" ? -Infinity : parseFloat(text)));
      return m === n ? 0 : m - n;
    }
    return order.compare(x, y);
  }

  // First click: rising; second: falling; third: as it was.
  function sortable(table, body) {
    const original = [...body.rows];
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((head, column) => {
      const button = document.createElement("button");
      button.type = "button";
      // On paper a style puts the title in place of the button: a browser
      // repeats no header on each page that has a control in it.
      head.dataset.title = head.textContent;
      button.append(...head.childNodes);
      head.append(button);
      head.setAttribute("aria-sort", "none");
      button.addEventListener("click", () => {
        const next = { none: "ascending", ascending: "descending", descending: "none" };
        const way = next[head.getAttribute("aria-sort")];
        heads.forEach((other) => other.setAttribute("aria-sort", "none"));
        head.setAttribute("aria-sort", way);
        const rows = [...original];
        const sign = way === "descending" ? -1 : 1;
        const isNumber = head.classList.contains("number");
        if (way !== "none") rows.sort((a, b) => sign * compare(column, isNumber, a, b));
        body.append(...rows);
      });
    });
  }

  function filterable(table, body) {
    const tools = document.createElement("div");
    tools.className = "tools idle";
    const label = document.createElement("label");
    const input = document.createElement("input");
    input.type = "search";
    input.autocomplete = "off";
    input.setAttribute("aria-label", `Filter: ${table.caption.textContent}`);
    label.append("Filter ", input);
    const count = document.createElement("output");
    tools.append(label, count);
    table.before(tools);
    input.addEventListener("input", () => {
      const words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
      let shown = 0;
      for (const row of body.rows) {
        const text = [...row.cells].map((cell) => cell.textContent).join("\n").toLowerCase();
        row.hidden = !words.every((word) => text.includes(word));
        shown += row.hidden ? 0 : 1;
      }
      tools.classList.toggle("idle", words.length === 0);
      count.value = words.length === 0 ? "" : `${shown} of ${body.rows.length} rows`;
    });
  }

  // A table that is laid out as blocks on a small screen would lose its meaning
  // for a screen reader without these.
  function meaningful(table) {
    const give = (selector, role) =>
      table.querySelectorAll(selector).forEach((part) => part.setAttribute("role", role));
    table.setAttribute("role", "table");
    give("thead, tbody, tfoot", "rowgroup");
    give("tr", "row");
    give("th[scope=col]", "columnheader");
    give("th[scope=row]", "rowheader");
    give("td", "cell");
  }

  document.documentElement.classList.add("js");
  for (const table of document.querySelectorAll("table.data")) {
    const body = table.tBodies[0];
    meaningful(table);
    if (body.rows.length > 1) sortable(table, body);
    if (body.rows.length > 4) filterable(table, body);
  }
})();
