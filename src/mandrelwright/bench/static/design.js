// The design page: the text of the job goes out with every change, the redraw comes back.
import { buildable } from "./build.js";
import { Cursor } from "./cursor.js";
import { showDifference } from "./difference.js";
import { kept, markProblems, showForm } from "./form.js";
import { showGate } from "./gate.js";
import { at, draw, finding, make, tellEnds, tellFacts, tellVerdict } from "./parts.js";
import { showSolid } from "./solid.js";
import { Store } from "./store.js";
import { Line, get, send } from "./wire.js";

const CHARTS = { life: "life", ladder: "ladder", "cure-drawn": "cure", "release-drawn": "release", "flight-drawn": "flight" }; // place, drawing
const LEVELS = ["stop", "caution", "note"];
const IDLE = 350; // ms after the last change until the rest is asked for
const job = document.querySelector("[data-job]").dataset.job;
const store = new Store(job);
const quick = new Line("/api/redraw", "quick");
const rest = new Line("/api/complete", "rest");
let units = localStorage.getItem("bench:units") || "mm";
let form = { steps: [], groups: [], blank: {} };
let told = null; // the last whole answer
let pending = []; // edits that no answer has confirmed yet
let problems = []; // of the newest text
let later = 0;
const cursor = new Cursor(() => units);
const body = () => ({ job, text: store.text, units });

function step() {
  const wanted = location.hash.slice(1);
  return form.steps.some((each) => each.key === wanted) ? wanted : "shape";
}

// A change of one field: the newest text and verdict, section and strips at once.
async function edit(change, where) {
  pending.push(change);
  await redraw(where, performance.now());
}

async function redraw(where, began = performance.now()) {
  clearTimeout(later);
  rest.drop();
  const edits = [...pending];
  const answer = await quick.ask({ ...body(), edits }).catch(failed);
  if (!answer) return false;
  pending = [];
  if (answer.text !== undefined) store.change(answer.text, where);
  showState();
  problems = answer.problems || [];
  const left = markProblems(at("inputs"), problems);
  document.body.classList.add("checking");
  if (answer.problems) {
    stale(left.length ? left : answer.problems);
    return true;
  }
  const received = performance.now();
  showDrawn(answer);
  painted(began, received, answer.took);
  later = setTimeout(complete, IDLE);
  return true;
}

// Shares of a redraw, from the change to the frame in which it is seen.
function painted(began, received, took) {
  requestAnimationFrame(() => setTimeout(() => {
    performance.measure("redraw", { start: began, end: performance.now(), detail: { received: received - began, took } });
  }));
}

function failed(error) {
  at("state").textContent = error.message;
  return null;
}

function stale(problems) {
  at("verdict").className = "verdict no";
  const [first, ...more] = problems;
  const place = form.groups.find((group) => group.rows.some((row) => row.name === first.field));
  at("verdict").replaceChildren(
    `Cannot be read as it stands: ${first.field} ${first.limit}. Do: ${first.remedy}${more.length ? ` And ${more.length} more.` : ""}`,
    place && place.step !== step() ? make("a", { href: `#${place.step}`, class: "go" }, " Go to it") : "");
  document.body.classList.add("refused");
}

function showDrawn(answer) {
  document.body.classList.remove("refused", "none");
  tellVerdict(at("verdict"), answer.verdict, stood(answer.steps));
  draw(at("section"), answer.drawings.section);
  draw(at("strips"), answer.drawings.strips);
  cursor.set(answer.axis);
  showSteps(answer.steps);
}

// A stop of a step that is not judged yet stands until the complete answer lifts it.
function stood(judged) {
  const found = told?.findings.find((each) => each.level === "stop" && !each.accepted && !(each.step in judged));
  return found ? ` Before this change: ${found.what}` : "";
}

async function complete() {
  const { text } = store;
  const answer = await rest.ask({ ...body(), edits: [] }).catch(failed);
  if (!answer || text !== store.text) return; // of a text that has changed meanwhile
  if (answer.problems) {
    stale(answer.problems);
    return;
  }
  told = answer;
  document.body.classList.remove("checking");
  at("part").textContent = answer.name;
  document.title = answer.name;
  showDrawn(answer);
  for (const [place, name] of Object.entries(CHARTS)) draw(at(place), answer.drawings[name]);
  tellFacts(at("facts"), answer.facts, because);
  tellEnds(at("ends"), answer.ends);
  tellFacts(at("used"), answer.used, because);
  showFindings();
  if (!at("readings").querySelector("[data-mark]")) showGate(at("readings"), step(), answer.marks, body, units);
}

// A step that is not judged yet keeps what was last said of it, marked as that.
function showSteps(counts) {
  for (const link of document.querySelectorAll("[data-step]")) {
    const own = counts[link.dataset.step];
    const sign = link.querySelector(".sign");
    if (own) {
      const words = own.map((n, level) => n && `${n} ${LEVELS[level]}${n > 1 ? "s" : ""}`).filter(Boolean);
      link.dataset.said = words.join(", ") || "nothing against it";
      sign.className = `sign ${own[0] ? "stop" : own[1] ? "caution" : "good"}`;
    }
    sign.classList.toggle("waits", !own);
    link.title = own ? link.dataset.said : `being checked; before this change: ${link.dataset.said || "not known"}`;
    link.querySelector(".unseen").textContent = `: ${link.title}`;
  }
}

function showFindings() {
  const show = (place) => cursor.mark(place);
  at("all").replaceChildren(...told.findings.map((found) => finding(found, show)));
  const own = told.findings.filter((found) => found.step === step());
  at("step-findings").replaceChildren(
    ...(own.length ? [make("h3", {}, "Found at this step"), make("ul", { class: "findings" }, ...own.map((found) => finding(found, show)))] : []));
}

function showStep() {
  const current = form.steps.find((each) => each.key === step());
  if (!current) return;
  for (const link of document.querySelectorAll("[data-step]")) {
    if (link.dataset.step === current.key) link.setAttribute("aria-current", "step");
    else link.removeAttribute("aria-current");
  }
  const bar = document.querySelector(".steps");
  const own = bar.querySelector("[aria-current]").parentElement;
  bar.scrollTo({ left: own.offsetLeft - (bar.clientWidth - own.offsetWidth) / 2 });
  at("step-title").textContent = current.title;
  at("step-does").replaceChildren(`${current.does} `, make("a", { href: `/manual/${current.page}` }, "How it is worked out"));
  showForm(at("groups"), form, current.key, { change: changed, add, drop, units: () => units });
  markProblems(at("inputs"), problems);
  showGate(at("readings"), current.key, told?.marks || [], body, units);
  cursor.unmark();
  if (told) showFindings();
}

function changed(row, value) {
  const blank = value === "";
  const typed = row.kind === "whole" && /^-?\d+$/.test(value) ? Number(value)
    : row.kind === "number" && /^-?[\d.]+$/.test(value) ? Number(value)
      : row.kind === "choice" && row.unit === "" && /^\d+$/.test(value) ? Number(value) : value;
  kept(row, value);
  if (row.kind === "turn") return structure({ do: "turn", at: row.at.slice(0, -1), value });
  const change = blank && !row.needed ? { do: "unset", at: row.at } : { do: "set", at: row.at, value: typed };
  edit(change, row.name).then(() => { if (row.at.at(-1) === "name") reform(); });
}

async function structure(change, focus) {
  await edit(change, "");
  await reform(focus);
}

// focus: id of the input that has it afterwards, where it is not the one that has it now.
const add = (place, value, focus) => structure({ do: "add", at: place, value }, focus);
const drop = (place, focus) => structure({ do: "drop", at: place }, focus);

async function reform(wanted) {
  const open = new Set([...document.querySelectorAll("details[open]")].map((each) => each.dataset.group));
  const focus = wanted || document.activeElement?.id;
  const answer = await send("/api/form", body()).catch(failed);
  if (!answer || answer.problems) return;
  form = answer;
  showStep();
  for (const each of document.querySelectorAll("details")) each.open = open.has(each.dataset.group);
  if (focus) at(focus)?.focus();
}

function showState() {
  at("state").textContent = store.dirty ? "not saved yet" : "as on disk";
  at("save").disabled = !store.dirty;
  at("undo").disabled = !store.past.length;
  at("redo").disabled = !store.future.length;
}

async function save() {
  try {
    const answer = await send("/api/save", { job, text: store.text, loaded: store.digest });
    if ("changed" in answer) return compare(answer.changed, answer.digest, "The file has changed on disk since this page loaded it.");
    store.saved(answer.digest);
    showState();
    at("state").textContent = `saved ${new Date().toTimeString().slice(0, 5)}`;
  } catch (error) {
    at("state").textContent = error.message;
  }
}

async function compare(text, digest, said) {
  const different = showDifference(at("lines"), text, store.text);
  at("difference-said").textContent = said || (different ? "− on disk, + on this page." : "They are the same.");
  at("take").hidden = at("overwrite").hidden = !different;
  at("take").onclick = () => { at("difference").close(); store.change(text, ""); store.disk = text; store.digest = digest; store.keep(); start(); };
  at("overwrite").onclick = () => { at("difference").close(); store.digest = digest; save(); };
  if (!at("difference").open) at("difference").showModal();
}

async function because(name, title) {
  const answer = await send("/api/why", { ...body(), name }).catch((error) => ({ lines: [error.message] }));
  at("because-title").textContent = title;
  at("because-lines").textContent = (answer.lines || answer.problems.map((each) => each.limit)).join("\n");
  at("because").showModal();
}

async function travel(went) {
  if (!went) return;
  pending = [];
  showState();
  await Promise.all([redraw(""), reform()]);
}

function showUnits() {
  document.body.classList.toggle("inch", units === "in");
  for (const button of document.querySelectorAll("[data-units]")) button.setAttribute("aria-pressed", button.dataset.units === units);
}

async function start() {
  showState();
  await reform();
  await redraw("");
}

for (const button of document.querySelectorAll("[data-units]")) {
  button.addEventListener("click", () => {
    units = button.dataset.units;
    localStorage.setItem("bench:units", units);
    showUnits();
    showStep();
    complete().then(showStep);
  });
}
at("undo").addEventListener("click", () => travel(store.back()));
at("redo").addEventListener("click", () => travel(store.forth()));
at("save").addEventListener("click", save);
at("compare").addEventListener("click", async () => {
  const { text, digest } = await get(`/api/job/${encodeURIComponent(job)}`);
  compare(text, digest);
});
at("shut").addEventListener("click", () => at("difference").close());
at("because-shut").addEventListener("click", () => at("because").close());
addEventListener("hashchange", () => { if (form.steps.some((each) => each.key === location.hash.slice(1))) showStep(); });
addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey)) return;
  const key = event.key.toLowerCase();
  const does = { s: save, z: () => travel(event.shiftKey ? store.forth() : store.back()), y: () => travel(store.forth()) }[key];
  if (!does) return;
  event.preventDefault();
  does();
});
addEventListener("beforeunload", (event) => { if (store.dirty && !sessionStorage.getItem(store.key)) event.preventDefault(); });

buildable(body);
new ResizeObserver(([entry]) => { // a sheet taller than the window sticks by its foot
  const bar = document.querySelector(".steps").offsetHeight;
  at("sheet").style.top = `${Math.min(bar, innerHeight - entry.target.offsetHeight)}px`;
}).observe(at("sheet"));
showSolid(body);
showUnits();
const restored = store.open(await get(`/api/job/${encodeURIComponent(job)}`));
await start();
if (restored) at("state").textContent = "unsaved changes from before the reload";
