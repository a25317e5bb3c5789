// Sorts, filters and searches the list of alarms. Without it the page reads whole.
(function () {
  "use strict";
  const table = document.getElementById("alarm-list");
  if (!table) return;
  const byId = (id) => document.getElementById(id);
  const form = byId("filter"), shown = byId("shown"), body = table.tBodies[0];
  const field = { text: byId("f-text"), point: byId("f-point"), cause: byId("f-cause"),
    treat: byId("f-treat"), from: byId("f-from"), to: byId("f-to") };
  const rows = Array.from(body.rows, (row) => ({
    row: row, text: row.textContent.toLowerCase(), point: row.cells[2].textContent,
    cause: row.dataset.c, treat: row.dataset.a, gas: row.classList.contains("grave"),
    first: row.cells[1].textContent.slice(0, 10), last: row.dataset.e
  }));
  document.querySelectorAll(".scripted").forEach((part) => { part.hidden = false; });

  // A day as on the page, 2026-05-26; the year or the month alone will do. Anything else is marked
  // and leaves the list as it is.
  function day(input) {
    const fits = /^\d{4}(-\d\d(-\d\d)?)?$/.test(input.value.trim());
    input.setAttribute("aria-invalid", String(Boolean(input.value) && !fits));
    return fits ? input.value.trim() : "";
  }

  function kept(one, words, from, to) {
    return (!field.point.value || one.point === field.point.value) &&
      (!field.cause.value || one.cause === field.cause.value) &&
      (!field.treat.value || one.treat === field.treat.value) &&
      (!from || one.last >= from) &&
      (!to || one.first.slice(0, to.length) <= to) &&
      words.every((word) => one.text.includes(word));
  }

  function filter() {
    const words = field.text.value.toLowerCase().split(/\s+/).filter(Boolean);
    const from = day(field.from), to = day(field.to);
    let count = 0, gas = 0;
    for (const one of rows) {
      const stays = kept(one, words, from, to);
      one.row.hidden = !stays;
      if (stays) count += 1; else if (one.gas) gas += 1;
    }
    const hidden = rows.length - count;
    shown.textContent = hidden
      ? "Shown: " + count + " of " + rows.length + " alarms. The filter hides " + hidden +
        ", and " + gas + " of these are to be treated as gas."
      : rows.length + " alarms are listed; none is hidden.";
    shown.className = gas ? "hides-gas" : "";
  }

  function value(row, column, kind) {
    const cell = row.cells[column];
    if (kind === "time") return cell.querySelector("time").dateTime;
    if (kind === "number") return cell.dataset.v === "" ? -Infinity : Number(cell.dataset.v);
    return cell.textContent;
  }

  function sort(head) {
    const column = head.cellIndex, kind = head.dataset.by;
    const up = head.getAttribute("aria-sort") !== "ascending";
    const words = new Intl.Collator("en", { numeric: true });
    const order = rows.map((one) => [value(one.row, column, kind), one.row]);
    order.sort((a, b) => {
      const way = kind === "text" ? words.compare(a[0], b[0]) : a[0] < b[0] ? -1 : a[0] > b[0] ? 1 : 0;
      return up ? way : -way;
    });
    for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
    head.setAttribute("aria-sort", up ? "ascending" : "descending");
    body.append(...order.map((pair) => pair[1]));
  }

  for (const head of table.tHead.rows[0].cells) {
    if (!head.dataset.by) continue;
    const button = document.createElement("button");
    button.type = "button";
    button.append(...head.childNodes);
    button.addEventListener("click", () => sort(head));
    head.append(button);
  }

  function pick(event) {
    const svg = event.currentTarget, set = svg.dataset;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const day = Math.floor((at.x - set.left) / set.cell), row = Math.floor((at.y - set.top) / set.row);
    const names = svg.querySelectorAll("a title");
    if (event.target.closest("a") || day < 0 || row < 0 || row >= names.length) return;
    const date = new Date(Date.parse(set.day) + day * 86400000).toISOString().slice(0, 10);
    form.reset();
    field.point.value = names[row].textContent;
    field.from.value = field.to.value = date;
    if (field.point.value !== names[row].textContent) field.text.value = names[row].textContent;
    filter();
    byId("alarms").scrollIntoView();
  }

  document.querySelectorAll("svg.days").forEach((svg) => svg.addEventListener("click", pick));
  form.addEventListener("input", filter);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", () => setTimeout(filter));
}());
