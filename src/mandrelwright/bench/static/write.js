// The fields of a step: numbers and notes, a slip questioned before it is kept, a cup's hardener.
import { make } from "./parts.js";

const FAR = 0.01; // of what is expected: beyond it a reading is questioned
const NUMBER = /^\d+(\.\d+)?$/;

export function fieldsOf(place, step, log) {
  place.replaceChildren(...step.fields.map((field, number) => row(step, field, number, log)));
  if (step.cup) place.append(...cup(step, log));
}

function row(step, field, number, log) {
  const id = `write-${number}`;
  const note = make("span", { class: "note", id: `${id}-note` });
  const numeric = field.keeps !== "note";
  const input = make("input", { id, value: log.text(field), autocomplete: "off", spellcheck: "false", inputmode: numeric ? "decimal" : null, "aria-describedby": `${id}-note`, onchange: () => keep() });
  const unit = { reading: ", mm", ring: ", mm", weight: "" }[field.keeps] ?? "";
  return make("div", { class: "write" }, make("label", { for: id }, `${field.angle === null ? "" : "at "}${field.label}${unit}`), input, note);

  function keep(sure = false) {
    const text = input.value.trim();
    const odd = question(field, text);
    input.removeAttribute("aria-invalid");
    note.replaceChildren();
    if (numeric && text.includes(",")) return refuse("Write a point, not a comma.");
    if (!odd || sure) return log.write(field, text, odd);
    input.setAttribute("aria-invalid", "true");
    note.replaceChildren(odd, make("button", { type: "button", onclick: () => keep(true) }, "It is so: keep it"));
  }

  function refuse(reason) {
    input.setAttribute("aria-invalid", "true");
    note.replaceChildren(reason);
  }
}

// What is odd about a reading, or nothing.
function question(field, text) {
  const expected = parseFloat(field.expected);
  if (!NUMBER.test(text) || !(expected > 0) || !["reading", "ring"].includes(field.keeps)) return "";
  const far = Math.abs(parseFloat(text) / expected - 1) > FAR;
  return far ? `${text} where ${expected.toFixed(2)} was expected. Look again: digits changed about, another mark? ` : "";
}

// Weigh what is really in the cup: the hardener follows it.
function cup(step, log) {
  const { number, resin, ratio, scale } = step.cup;
  const digits = Math.max(0, Math.ceil(-Math.log10(scale) - 1e-9));
  const said = make("output", { class: "big", for: "cup-resin" });
  const real = weight("resin really in the cup, g", "cup-resin", `resin cup ${number}`, tell);
  const hard = weight("hardener really in the cup, g", "cup-hardener", `hardener cup ${number}`, tell);
  const plan = make("p", {}, `Planned: ${resin} g resin. Write what the scale says; the hardener follows it.`);
  tell();
  return [plan, real.row, said, hard.row];

  function weight(label, id, what, changed) {
    const field = { label, keeps: "weight", what };
    const input = make("input", { id, value: log.weigh(what), inputmode: "decimal", autocomplete: "off", oninput: changed, onchange: () => NUMBER.test(input.value.trim()) && log.write(field, input.value.trim()) });
    return { input, row: make("div", { class: "write" }, make("label", { for: id }, label), input) };
  }

  function tell() {
    const poured = parseFloat(real.input.value) || resin;
    if (ratio === null) {
      said.textContent = "Hardener by weight as the can says.";
      return;
    }
    const wanted = poured * ratio;
    const given = parseFloat(hard.input.value);
    const off = given ? given / wanted - 1 : 0;
    const far = Math.abs(off) > 0.05 ? ` That is ${Math.abs(100 * off).toFixed(0)} % too ${off > 0 ? "much" : "little"}.` : "";
    said.textContent = `Hardener: ${wanted.toFixed(digits)} g for ${poured} g resin.${far}`;
  }
}
