// The fields of a step: numbers and notes, what the server asks about them, a cup's hardener.
import { make } from "./parts.js";

export function fieldsOf(place, step, log) {
  place.replaceChildren(...step.fields.map((field, number) => row(field, `write-${number}`, log).row));
  if (step.cup) place.append(...cup(step, log));
  tellAsked(place, log);
}

function row(field, id, log, changed = () => {}) {
  const note = make("span", { class: "note", id: `${id}-note`, role: "alert" });
  const unit = { reading: ", mm", ring: ", mm" }[field.keeps] ?? "";
  const at = field.angle === null || field.angle === undefined ? "" : "at ";
  const input = make("input", { id, value: log.text(field), autocomplete: "off", spellcheck: "false", inputmode: field.keeps === "note" ? null : "decimal", "aria-describedby": `${id}-note`, oninput: changed, onchange: () => log.write(field, input.value.trim()) });
  const whole = make("div", { class: "write", "data-place": log.place(field) }, make("label", { for: id }, `${at}${field.label}${unit}`), input, note);
  return { row: whole, input };
}

// Questions and refusals stand at their fields, with the answers that may be given.
export function tellAsked(place, log) {
  for (const whole of place.querySelectorAll("[data-place]")) {
    const item = log.asked.find((each) => each.place === whole.dataset.place);
    const [input, note] = [whole.querySelector("input"), whole.querySelector(".note")];
    if (!item) {
      input.removeAttribute("aria-invalid");
      note.replaceChildren();
    } else if (note.dataset.of !== item.entry.id || !note.childElementCount) {
      input.value = item.entry.fields.reads ?? input.value;
      input.setAttribute("aria-invalid", "true");
      note.replaceChildren(make("span", {}, item.text), ...answers(item, log, input));
      whole.scrollIntoView({ block: "center" });
    }
    note.dataset.of = item?.entry.id ?? "";
  }
}

function answers(item, log, input) {
  const button = (word, does) => make("button", { type: "button", onclick: does }, word);
  const again = button("Write it again", () => { log.drop(item); input.value = ""; input.focus(); });
  if (item.refused) return [again];
  const meant = item.meant ? [button(`Yes, ${item.meant}`, () => log.answer(item, item.meant))] : [];
  return [...meant, button("Keep it as written", () => log.answer(item, item.entry.fields.reads)), again];
}

// Weigh what is really in the cup: the hardener follows it.
function cup(step, log) {
  const { number, resin, ratio, scale } = step.cup;
  const digits = Math.max(0, Math.ceil(-Math.log10(scale) - 1e-9));
  const said = make("output", { class: "big", for: "cup-resin" });
  const real = weight("resin really in the cup, g", "cup-resin", `resin cup ${number}`);
  const hard = weight("hardener really in the cup, g", "cup-hardener", `hardener cup ${number}`);
  const plan = make("p", {}, `Planned: ${resin} g resin. Write what the scale says; the hardener follows it.`);
  tell();
  return [plan, real.row, said, hard.row];

  function weight(label, id, what) {
    return row({ label, keeps: "weight", what }, id, log, () => tell());
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
