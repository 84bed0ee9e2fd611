// The inputs of one step, as the server declares them; each change is told as an edit.
import { cellsOf } from "./cells.js";
import { make } from "./parts.js";

const INCH = 25.4;
const MOST_LOOSE = 2; // inputs of an inner table that are not folded apart
const LONGEST = 5000; // mm; nobody thinks of an altitude in millimetres
const LENGTHS = { mm: 1, cm: 10, m: 1000, um: 0.001, in: INCH, thou: INCH / 1000, ft: 12 * INCH };

// "102.21 mm +- 0.02 mm" in the other unit, for reading only; the file keeps what was typed.
export function inOther(text, units) {
  const match = /^\s*(-?[\d.]+)\s*([a-z]+)(?:\s*(?:\+-|±)\s*([\d.]+)\s*([a-z]+)?)?\s*$/.exec(text);
  if (!match || !(match[2] in LENGTHS)) return "";
  const wants = units === "in" ? "in" : "mm";
  if (match[2] === wants || match[1] * LENGTHS[match[2]] > LONGEST) return "";
  const scale = (unit) => LENGTHS[unit] / LENGTHS[wants];
  const digits = wants === "in" ? 4 : 3;
  const spread = match[3] && (match[4] || match[2]) in LENGTHS ? ` ± ${(match[3] * scale(match[4] || match[2])).toFixed(digits)}` : "";
  return `${(match[1] * scale(match[2])).toFixed(digits)} ${wants}${spread}`;
}

function noteOf(row, text, units) {
  const said = [];
  if (row.kind === "number" || row.kind === "whole") said.push(row.help);
  if (row.unit === "length" && row.kind === "measure") said.push(inOther(text || row.fallback, units));
  if (!text && row.fallback) said.push(`default ${{ true: "yes", false: "no" }[row.fallback] ?? row.fallback}`);
  else if (!text && !row.stated && row.kind !== "flag") said.push("not stated");
  if (row.kind === "measure" && text && row.help.includes("states one standard uncertainty") && !/\+-|±/.test(text)) said.push("no spread stated");
  return said.filter(Boolean).join(" · ");
}

function control(row, id, change, units, note) {
  const common = { id, "aria-describedby": `${id}-note ${id}-wrong ${id}-help` };
  const told = (value) => {
    note.textContent = noteOf(row, value, units());
    change(row, value);
  };
  if (row.kind === "flag") {
    const box = make("input", { ...common, type: "checkbox", onchange: () => change(row, box.checked) });
    box.checked = (row.text || row.fallback) === "true";
    return box;
  }
  if (["choice", "turn"].includes(row.kind) && row.choices.length) {
    const blank = row.needed ? [] : [make("option", { value: "" }, row.fallback ? `default: ${row.fallback}` : "–")];
    const pick = make("select", { ...common, onchange: () => told(pick.value) },
      ...blank, ...row.choices.map(([value, word]) => make("option", { value }, word)));
    pick.value = row.text;
    return pick;
  }
  if (row.kind === "either") return either(row, common, told);
  const list = row.choices.length ? `${id}-known` : null;
  const input = make("input", { ...common, list, type: "text", autocomplete: "off", spellcheck: "false", placeholder: row.fallback || "–", oninput: () => told(input.value) });
  input.value = row.text;
  if (!list) return input;
  const known = make("datalist", { id: list }, ...row.choices.map(([value]) => make("option", { value })));
  return make("span", {}, input, known);
}

// A word, or one measure under one of a few keys: the tip, the ends of a layer.
function either(row, common, told) {
  const [way, text] = row.text.split("|");
  const words = row.choices.filter(([key]) => ["pointed", "solid", "tip", "end"].includes(key)).map(([key]) => key);
  const pick = make("select", { "aria-label": `${row.label}, how`, onchange: () => tell() }, ...row.choices.map(([key, word]) => make("option", { value: key }, word)));
  const input = make("input", { ...common, type: "text", autocomplete: "off", spellcheck: "false", oninput: () => tell() });
  pick.value = way;
  input.value = text || "";
  const pair = make("span", { class: "pair" }, pick, input);
  const tell = () => {
    const word = words.includes(pick.value);
    input.hidden = word;
    pair.classList.toggle("word", word);
    if (word) told(pick.value);
    else if (input.value) told(pick.value ? { [pick.value]: input.value } : input.value);
    else input.focus();
  };
  input.hidden = words.includes(pick.value);
  pair.classList.toggle("word", input.hidden);
  return pair;
}

const idOf = (name) => `in-${name.replace(/[^A-Za-z0-9]+/g, "-")}`;

function rowOf(row, { change, add, drop, units }) {
  const id = idOf(row.name);
  const note = make("span", { class: "note", id: `${id}-note` }, noteOf(row, row.kind === "either" ? "x" : row.text, units()));
  if (row.kind === "table") return cellsOf(row, idOf, { change, add, drop });
  return make("div", { class: "row", "data-field": row.name },
    make("label", { for: id }, row.label), control(row, id, change, units, note), note,
    make("span", { class: "wrong", id: `${id}-wrong` }), make("span", { class: "help", id: `${id}-help` }, row.help));
}

export function showForm(place, form, step, { change, add, drop, units }) {
  const groups = form.groups.filter((group) => group.step === step);
  place.replaceChildren(...groups.flatMap((group) => groupOf(group, form.blank, { change, add, drop, units })));
}

const capital = (text) => text[0].toUpperCase() + text.slice(1);

function groupOf(group, blank, { change, add, drop, units }) {
  if (!group.rows.length && !group.drops) {
    return [make("div", { class: "adds" }, `Add ${group.title}:`, group.adds.length ? null : ` ${group.first}`, ...group.adds.map((name) =>
      make("button", { type: "button", onclick: () => add(group.at, blank[group.table][name]) }, name)))];
  }
  const shown = group.rows.filter((row) => row.stated || row.needed);
  const rest = group.rows.filter((row) => !shown.includes(row));
  const rows = (list) => list.map((row) => rowOf(row, { change, add, drop, units }));
  const head = make("h3", {}, capital(group.title), group.drops
    ? make("button", { type: "button", class: "link", "aria-label": `Remove ${group.title}`, onclick: () => drop(group.at) }, "remove")
    : null);
  const more = [...folds(rest)].map(([name, list]) =>
    make("details", { "data-group": `${group.at.join(".")} ${name}` },
      make("summary", {}, `${name ? `${capital(name)}: ` : ""}${list.length} more that may be stated`), ...rows(list)));
  return [make("div", { class: "group" }, head, ...rows(shown), ...more)];
}

// What may be stated besides, folded by the inner table it belongs to, where that has several.
function folds(rows) {
  const own = (row) => row.label.split(", ")[0];
  const many = (name) => rows.filter((row) => row.label !== name && own(row) === name).length > MOST_LOOSE;
  return rows.reduce((lists, row) => {
    const name = many(own(row)) ? own(row) : "";
    return lists.set(name, [...(lists.get(name) ?? []), row]);
  }, new Map());
}

// What was typed stays in the form when another step or unit is looked at and this one again.
export function kept(row, value) {
  const word = row.kind === "either" && row.choices.some(([way]) => way === value);
  const [way, text] = typeof value === "object" ? Object.entries(value)[0] : word ? [value, ""] : ["", value];
  row.text = row.kind === "either" ? `${way}|${text}` : String(value);
  row.stated = value !== "";
}

// Problems stand at their fields; those without a field on this step are returned.
export function markProblems(place, problems) {
  for (const row of place.querySelectorAll(".row")) {
    const own = problems.filter((problem) => problem.field === row.dataset.field);
    own.push(...problems.filter((problem) => row.dataset.rows && problem.field.startsWith(`${row.dataset.field}[`)));
    const wrong = row.querySelector(".wrong");
    if (wrong) wrong.textContent = own.map((problem) => `${problem.limit}. Do: ${problem.remedy}`).join(" ");
    for (const input of row.querySelectorAll("input, select")) {
      const cell = input.dataset.cell;
      if (cell ? own.some((problem) => problem.field === cell) : own.length) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
    }
  }
  const shown = new Set([...place.querySelectorAll("[data-field], [data-cell]")].map((each) => each.dataset.cell || each.dataset.field));
  return problems.filter((problem) => !shown.has(problem.field));
}
