// Six questions; the answer is there as soon as three measures are.
import { at, draw, finding, make, tellEnds, tellFacts, tellVerdict } from "./parts.js";
import { Line, send } from "./wire.js";

const form = at("six");
const line = new Line("/api/first", "first");
let text = "";

function answers() {
  const given = Object.fromEntries(new FormData(form));
  const { width, depth, height, antenna, ...rest } = given;
  return { ...rest, antenna: antenna === "yes", bed: [width, depth, height], name: at("called").value || "nose" };
}

async function ask() {
  const given = answers();
  if (![given.tube, given.coupler, given.length].every((each) => each.trim())) return;
  const told = await line.ask(given).catch((error) => ({ problems: [{ field: "", limit: error.message, remedy: "" }] }));
  if (told === null) return;
  at("waiting").hidden = true;
  at("problems").hidden = !told.problems;
  mark(told.problems || []);
  if (told.problems) return;
  text = told.text;
  at("said").hidden = false;
  tellVerdict(at("verdict"), told.verdict);
  tellFacts(at("facts"), told.facts);
  tellEnds(at("ends"), told.ends);
  at("worst").replaceChildren(...told.findings.slice(0, 3).map((found) => finding(found)));
  draw(at("section"), told.drawings.section);
}

function mark(problems) {
  const wrong = new Set(problems.map((problem) => problem.field));
  for (const input of form.elements) {
    if (!input.name) continue;
    const bad = wrong.has(input.name) || (wrong.has("bed") && ["width", "depth", "height"].includes(input.name));
    input.toggleAttribute("aria-invalid", false);
    if (bad) input.setAttribute("aria-invalid", "true");
  }
  for (const place of form.querySelectorAll("[data-wrong]")) {
    const own = problems.filter((problem) => problem.field === place.dataset.wrong);
    place.textContent = own.map((problem) => `${sentence(problem.limit)} Do: ${problem.remedy}.`).join(" ");
  }
  at("problems").replaceChildren(...problems.map((problem) =>
    make("li", {}, `${problem.field ? `${problem.field}: ` : ""}${problem.limit}. Do: ${problem.remedy}`)));
}

const sentence = (text) => `${text[0].toUpperCase()}${text.slice(1)}.`;

form.addEventListener("input", ask);
form.addEventListener("submit", (event) => event.preventDefault());
at("keep").addEventListener("submit", async (event) => {
  event.preventDefault();
  const job = `${at("called").value}.toml`;
  try {
    const told = await line.ask(answers());
    if (told?.problems) return mark(told.problems);
    const saved = await send("/api/save", { job, text: told?.text || text, loaded: "" });
    if ("changed" in saved) at("kept").textContent = `${job} is there already; choose another name.`;
    else location.assign(`/job/${encodeURIComponent(job)}`);
  } catch (error) {
    at("kept").textContent = `${error.message}.`;
  }
});
ask();
