// A table of measures in the form: cells to type in, rows to add and to take away, all by keyboard.
import { make } from "./parts.js";

const MEASURE = /^\s*(-?[\d.]+)\s*(\S+)/;

export function cellsOf(row, idOf, { change, add, drop }) {
  const id = idOf(row.name);
  const cell = (number, column) => `${row.name}[${number + 1}]${row.columns.length > 1 ? `[${column + 1}]` : ""}`;
  const at = (number, column) => [...row.at, number, ...(row.columns.length > 1 ? [column] : [])];
  const insert = (number) => add(number < row.cells.length ? [...row.at, number] : row.at, between(row, number), idOf(cell(number, 0)));
  const remove = (number) => drop([...row.at, number], row.cells.length > 1 ? idOf(cell(Math.max(number - 1, 0), 0)) : `${id}-add`);

  const input = (text, number, column) => make("input", {
    id: idOf(cell(number, column)), "data-cell": cell(number, column), value: text, autocomplete: "off", spellcheck: "false",
    "aria-label": `${row.label}, row ${number + 1}, ${row.columns[column]}`, "aria-describedby": `${id}-wrong`,
    oninput: (event) => {
      row.cells[number][column] = event.target.value;
      change({ at: at(number, column), name: cell(number, column), kind: "measure", needed: true, unit: "" }, event.target.value);
    },
    onkeydown: (event) => { if (event.key === "Enter") { event.preventDefault(); insert(number + 1); } },
  });
  const line = (cells, number) => make("tr", {}, make("th", { scope: "row" }, String(number + 1)),
    ...cells.map((text, column) => make("td", {}, input(text, number, column))),
    make("td", {}, make("button", { type: "button", class: "link", "aria-label": `Remove row ${number + 1} of ${row.label}`, onclick: () => remove(number) }, "remove")));
  const head = make("tr", {}, make("th", { scope: "col" }, "row"), ...row.columns.map((word) => make("th", { scope: "col" }, word)), make("td", {}));

  return make("div", { class: "row cells", "data-field": row.name, "data-rows": "yes" },
    make("span", { class: "label", id: `${id}-label` }, row.label),
    row.cells.length
      ? make("table", { "aria-labelledby": `${id}-label` }, make("thead", {}, head), make("tbody", {}, ...row.cells.map(line)))
      : make("span", { class: "soft" }, row.fallback ? `default ${row.fallback}` : "no rows yet"),
    make("div", { class: "adds" }, make("button", { type: "button", id: `${id}-add`, onclick: () => insert(row.cells.length) }, "Add a row"),
      row.cells.length ? "Enter in a cell adds one below it." : ""),
    make("span", { class: "wrong", id: `${id}-wrong` }), make("span", { class: "help", id: `${id}-help` }, row.help));
}

// A new row: half way between its neighbours, or as far beyond the last as that from the one before.
function between(row, number) {
  const { cells } = row;
  if (!cells.length) return row.columns.length > 1 ? row.columns.map(() => "") : "";
  const read = (text) => { const match = MEASURE.exec(text ?? ""); return match && { value: Number(match[1]), unit: match[2] }; };
  const made = row.columns.map((_, column) => {
    const [before, after] = number < cells.length ? [cells[number - 1], cells[number]] : [cells.at(-2), cells.at(-1)];
    const [one, two] = [read(before?.[column]), read(after?.[column])];
    if (!one || !two || one.unit !== two.unit) return (cells[number - 1] ?? cells[0])[column];
    const beyond = column === 0 ? 2 * two.value - one.value : two.value;
    return `${Number((number < cells.length ? (one.value + two.value) / 2 : beyond).toFixed(3))} ${two.unit}`;
  });
  return made.length > 1 ? made : made[0];
}
