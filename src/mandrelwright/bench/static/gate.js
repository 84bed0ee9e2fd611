// Readings of this mould or part, and what they say to do.
import { make } from "./parts.js";
import { send } from "./wire.js";

const STAGES = { gate: [["ready", "prepared, ready to wax"], ["printed", "as printed"]], measure: [["part", "the finished part"]] };

export function showGate(place, step, marks, job, units) {
  if (!(step in STAGES)) return place.replaceChildren();
  const part = step === "measure";
  const read = part ? [{ name: "A", lies: "where it slides over its mate, or into it" }] : marks;
  const answer = make("div", { role: "status" });
  const stage = make("select", { id: "gate-stage" }, ...STAGES[step].map(([value, word]) => make("option", { value }, word)));
  const rows = read.map(({ name, lies }) => {
    const id = `gate-${name}`;
    const label = part ? "its own fit diameter" : `mark ${name}`;
    return make("div", { class: "row" }, make("label", { for: id }, label),
      make("input", { id, "data-mark": name, placeholder: "as read, with its unit", autocomplete: "off", spellcheck: "false", inputmode: "decimal", "aria-describedby": `${id}-lies` }),
      make("span", { class: "note", id: `${id}-lies` }, lies));
  });
  const warm = make("input", { id: "gate-at", placeholder: "23 degC", autocomplete: "off", spellcheck: "false" });
  const form = make("form", { onsubmit: (event) => { event.preventDefault(); ask(); } },
    make("h3", {}, part ? "Reading of this part" : "Readings of this mould"),
    make("div", { class: "row" }, make("label", { for: "gate-stage" }, "what was read"), stage), ...rows,
    make("div", { class: "row" }, make("label", { for: "gate-at" }, "how warm it was"), warm,
      make("span", { class: "note" }, "blank: as warm as the job's measures hold for")),
    make("p", {}, make("button", { class: "main" }, "What to do")), answer);
  place.replaceChildren(form);

  async function ask() {
    const given = [...form.querySelectorAll("[data-mark]")].filter((input) => input.value.trim());
    const readings = Object.fromEntries(given.map((input) => [input.dataset.mark, input.value.trim()]));
    try {
      const told = await send("/api/gate", { ...job(), readings, stage: stage.value, at: warm.value.trim() });
      answer.replaceChildren(told.problems ? refused(told.problems) : say(told.answer, units));
    } catch (error) {
      answer.replaceChildren(make("p", { class: "bad" }, `${error.message}.`));
    }
  }
}

function refused(problems) {
  return make("ul", { class: "bad" }, ...problems.map((each) => make("li", {}, `${each.limit}. Do: ${each.remedy}`)));
}

const of = (share) => `${Math.min(Math.max(Math.round(100 * share), 1), 99)} of 100`;

// units: those of the page; what to do is told in mm, as on the build sheet.
export function say(answer, units = "mm") {
  const [scale, more] = units === "in" ? [1 / 0.0254, 1] : [1000, 0];
  const mm = (value, digits = 2) => `${(value * scale).toFixed(digits + more)} ${units}`;
  const { best } = answer;
  return make("div", { class: "answer-gate" },
    make("p", {}, make("strong", {}, `${best.text[0].toUpperCase()}${best.text.slice(1)}.`)),
    best.amount ? make("p", {}, `Then it should read ${mm(answer.estimate + best.amount)}.`) : null,
    make("p", {}, `It is ${mm(answer.estimate)} ± ${(answer.spread * scale).toFixed(3 + more)}; aim at ${mm(answer.target)} (${mm(answer.least)} to ${mm(answer.most)}).`),
    make("p", {}, `Fits ${of(answer.before)} laid up unread from this print file, ${of(answer.as_is)} as it is now, ${of(answer.after)} after this.`),
    answer.choices.length > 1
      ? make("ul", {}, ...answer.choices.slice(1).map((choice) => make("li", {}, `or ${choice.text}: fits ${of(choice.probability)}`)))
      : null,
    answer.questioned > 4 ? make("p", { class: "bad" }, `The reading lies ${answer.questioned.toFixed(0)} standard uncertainties from what was expected: read it again before you act.`) : null);
}
