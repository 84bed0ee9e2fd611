// Shop mode: one step at a time, each tick and reading into the log, clocks from its time stamps.
import { Clocks } from "./clocks.js";
import { Kept, ringName } from "./kept.js";
import { at, make } from "./parts.js";
import { Queue } from "./queue.js";
import { say } from "./gate.js";
import { get, send } from "./wire.js";
import { fieldsOf, tellAsked } from "./write.js";

const job = document.querySelector("[data-job]").dataset.job;
const base = `/api/shop/${encodeURIComponent(job)}`;
const ANSWERS = 4000; // ms that a step waits for the question its reading may raise
const LOOK = 5000; // ms between two looks at what others have entered
const kept = new Kept();
const queue = new Queue(job, tellNet, doubted);
const ids = { mould: "", part: "" };
let steps = [];
let here = 0;
let ahead = 0; // ms this computer's clock is behind the server's
const now = () => new Date(Date.now() + ahead);
const clocks = new Clocks(at("clocks"), at("loud"), now, (name) => enter("event", aboutPart(), { what: "clock stopped", text: name }));

// Entries

function aboutPart() {
  return { mould: ids.mould, part: ids.part };
}

function about(step) {
  return step.about === "part" ? aboutPart() : { mould: ids.mould };
}

function enter(kind, who, fields, ring = null, place = "") {
  const id = crypto.randomUUID ? crypto.randomUUID() : uuid();
  const given = Object.fromEntries(Object.entries({ ...who, ...fields }).filter(([, value]) => value));
  const entry = { kind, id, at: now().toISOString(), fields: given, mould: ids.mould, ...(ring ? { ring } : {}) };
  take(entry);
  queue.add(entry, place);
  refresh();
}

function take(entry) {
  kept.take({ ...local(entry.fields), kind: entry.kind, id: entry.id, at: entry.at, ...(entry.ring ? { ring: entry.ring.name } : {}) });
}

// The server has not kept it: the page goes on without it; a later entry may have taken its place.
function doubted(entry, later, stays) {
  kept.forget(entry.id);
  if (later) kept.forget(later.id);
  if (stays) take(later);
}

// An answer to a question: what was meant, or what was written, kept by who insists on it.
function answer(item, reads) {
  const entry = { ...item.entry, fields: { ...item.entry.fields, reads }, sure: true };
  queue.drop(item);
  take(entry);
  queue.add(entry, item.place);
  show();
}

const placeOf = (step, field) => `${step.id}|${ids.mould}|${ids.part}|${field.what}|${field.label}`;

// As the server will tell it, until it does.
function local(fields) {
  const angle = fields.angle ? { angle: { text: fields.angle, value: (parseFloat(fields.angle) * Math.PI) / 180 } } : {};
  const reads = fields.reads ? { reads: { text: fields.reads } } : {};
  return { ...fields, ...angle, ...reads };
}

function uuid() { // where the page came without a secure context
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 15) | 64;
  bytes[8] = (bytes[8] & 63) | 128;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

function withdraw(entry, because) {
  enter("withdrawal", {}, { replaces: entry.id, because });
}

// What is written in a field of a step; a new text corrects the old one.
function write(step, field, text) {
  const old = kept.value(step, field, ids);
  const place = placeOf(step, field);
  const said = queue.asked.find((item) => item.place === place)?.entry.fields.reads;
  if ((said ?? textOf(old, step, field)) === text) return;
  const fix = old ? { replaces: old.id, because: "written anew at the table" } : {};
  const angle = { angle: `${field.angle} deg` };
  if (!text) {
    queue.asked.filter((item) => item.place === place).forEach((item) => queue.drop(item));
    if (old) withdraw(old, "cleared at the table");
  } else if (field.keeps === "note") {
    enter("note", about(step), { text: Kept.noteText(step, field, text), ...fix });
  } else if (field.keeps === "weight") {
    enter("weight", about(step), { what: field.what, reads: text, ...fix }, null, place);
  } else if (field.keeps === "ring") {
    const mould = kept.entries.get(ids.mould);
    const name = ringName(field.what, mould);
    const fields = { stage: "ring", mark: "A", reads: text, ...angle, ...fix };
    enter("reading", {}, fields, { name, file: step.ring, plastic: mould.plastic }, place);
  } else {
    const who = step.stage === "part" ? aboutPart() : { mould: ids.mould };
    enter("reading", who, { stage: step.stage, mark: field.what, reads: text, ...angle, ...fix }, null, place);
  }
}

function textOf(entry, step, field) {
  if (!entry) return "";
  return field.keeps === "note" ? entry.text.slice(Kept.noteText(step, field, "").length) : entry.reads.text;
}

// Ticks

const lineOf = (number) => `/${number + 1}`;

function isDone(step) {
  return Boolean(kept.tick(step, ids));
}

function toggle(step, line, title) {
  const tick = kept.tick(step, ids, line);
  if (tick) withdraw(tick, "unticked at the table");
  else enter("event", about(step), { what: "done", text: Kept.tickText(step, line, title) });
}

const askedAt = (step) => queue.asked.filter((item) => item.place.startsWith(`${step.id}|${ids.mould}|${ids.part}|`));

// Why a step cannot be ticked yet, or nothing.
function missing(step) {
  if (step.ticks.some((_, number) => !kept.tick(step, ids, lineOf(number)))) return "Tick every line first.";
  if (step.choices.length && !chosen(step)) return "Choose one first.";
  if (askedAt(step).length) return "Answer the question first.";
  const { stage } = step;
  const waived = stage && kept.waived(stage, ids);
  const empty = step.fields.some((field) => field.need && !kept.value(step, field, ids));
  if (empty && !waived) return stage ? "The gate wants this reading, or a reason to do without." : "Write the first reading.";
  return "";
}

// The first step a gate holds shut: all after it wait.
function held() {
  const shut = steps.findIndex((step) => step.stage && step.fields.some((field) => field.need) && (!isDone(step) || missing(step)));
  return shut < 0 ? steps.length : shut;
}

async function done() {
  const step = steps[here];
  if (step.fields.length || step.cup) await queue.settled(ANSWERS);
  if (step !== steps[here]) return;
  const gap = missing(step);
  if (gap) return tellGap(gap);
  if (!isDone(step)) {
    toggle(step, "", step.title);
    if (step.starts?.lasts) enter("event", about(step), { what: "clock", text: `${step.starts.name}, ${Math.round(step.starts.lasts / 60)} min` });
    if (step.stops) enter("event", about(step), { what: "clock stopped", text: step.stops });
  }
  if (here < steps.length - 1) go(here + 1);
}

function undo() {
  const step = steps[here];
  const tick = kept.tick(step, ids);
  if (tick) withdraw(tick, "undone at the table");
  const clock = step.starts && kept.clocks(ids).find((each) => each.name === step.starts.name);
  if (clock) withdraw(clock.entry, "undone at the table");
}

// The page

function go(number, focus = true) {
  here = Math.max(0, Math.min(number, steps.length - 1, held()));
  sessionStorage.setItem(`bench:step:${job}`, `${ids.mould}|${ids.part}|${steps[here].id}`);
  show();
  tellNet();
  if (focus) at("step").focus({ preventScroll: true });
  scrollTo(0, 0);
}

function show() {
  const step = steps[here];
  at("chapter").textContent = step.chapter;
  at("count").textContent = `step ${here + 1} of ${steps.length}`;
  at("step-title").textContent = step.title;
  at("told").replaceChildren(...told(step));
  at("answer").replaceChildren();
  fieldsOf(at("write"), step, logOf(step));
  refresh();
}

function logOf(step) {
  return {
    asked: queue.asked,
    text: (field) => textOf(kept.value(step, field, ids), step, field),
    place: (field) => placeOf(step, field),
    write: (field, text) => write(step, field, text),
    drop: (item) => queue.drop(item),
    answer,
  };
}

function told(step) {
  const parts = step.cautions.map((caution) => make("div", { class: "caution" },
    make("p", {}, make("strong", {}, `${caution.word[0].toUpperCase()}${caution.word.slice(1)}: ${caution.what}`)),
    make("p", {}, caution.why), make("ul", {}, ...caution.do.map((remedy) => make("li", {}, remedy)))));
  parts.push(...step.text.map((text) => make("p", {}, text)));
  if (step.table) parts.push(tableOf(step.table));
  if (step.ticks.length) parts.push(make("ul", { class: "lines" }, ...step.ticks.map((text, number) => {
    const box = make("input", { type: "checkbox", "data-line": number, onchange: () => toggle(step, lineOf(number), text) });
    return make("li", {}, make("label", {}, box, make("span", {}, text)));
  })));
  if (step.choices.length) parts.push(make("div", { class: "choices", role: "group", "aria-labelledby": "step-title" },
    ...step.choices.map((word) => make("button", { type: "button", "data-choice": word, onclick: () => choice(step, word) }, word))));
  return parts;
}

const chosen = (step) => kept.standing("event").filter(kept.about(step, ids)).findLast((entry) => step.choices.includes(entry.what));

function choice(step, word) {
  const old = chosen(step);
  if (old?.what === word) return;
  enter("event", about(step), { what: word, ...(old ? { replaces: old.id, because: "chosen anew at the table" } : {}) });
}

function tableOf(table) {
  return make("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Table" }, make("table", {},
    make("thead", {}, make("tr", {}, ...table.heads.map((head) => make("th", { scope: "col" }, head)))),
    make("tbody", {}, ...table.rows.map((row) => make("tr", {}, ...row.map((cell) => make("td", {}, cell)))))));
}

// What changes without the step being drawn anew: ticks, buttons, clocks, the list.
function refresh() {
  if (!steps.length) return;
  const step = steps[here];
  for (const box of at("told").querySelectorAll("[data-line]")) box.checked = Boolean(kept.tick(step, ids, lineOf(Number(box.dataset.line))));
  for (const button of at("told").querySelectorAll("[data-choice]")) button.setAttribute("aria-pressed", chosen(step)?.what === button.dataset.choice);
  const finished = isDone(step);
  at("next").textContent = finished ? "Next" : "Done";
  at("next").disabled = finished && here === steps.length - 1;
  at("undo").disabled = !finished;
  at("back").disabled = here === 0;
  at("step").classList.toggle("done", finished);
  clocks.show(kept.clocks(ids));
  gateOf(step);
  list();
}

function list() {
  const shut = held();
  at("list").replaceChildren(...steps.map((each, number) => make("li", {},
    make("button", { type: "button", class: isDone(each) ? "done" : "", disabled: number > shut, "aria-current": number === here ? "step" : null, onclick: () => { at("all").open = false; go(number); } },
      make("span", { class: "unseen" }, isDone(each) ? "done: " : ""), `${each.chapter}: ${each.title}`))));
}

function tellGap(text) {
  const step = steps[here];
  const { stage } = step;
  const reason = make("input", { id: "waiver", maxlength: "400" });
  const waive = () => reason.value.trim() && (enter("waiver", stage === "printed" ? { mould: ids.mould } : aboutPart(), { gate: stage, reason: reason.value.trim() }), at("answer").replaceChildren());
  at("answer").replaceChildren(make("p", { class: "bad" }, text), ...(stage
    ? [make("label", { for: "waiver" }, "Reason to do without the reading"), reason, make("button", { type: "button", onclick: waive }, "Do without")]
    : []));
  at("answer").scrollIntoView({ block: "center" }); // not under the bar of buttons
}

// The gate's answer, once its readings are in.
let asked = "";
async function gateOf(step) {
  if (!step.gate) return;
  const stage = step.gate;
  const all = steps.filter((each) => each.chapter === step.chapter).flatMap((each) => each.fields.map((field) => [each, field]));
  const read = all.filter(([, field]) => stage !== "part" || field.what === "A")
    .map(([each, field]) => [field.what, kept.value(each, field, ids)]).filter(([, entry]) => entry);
  const readings = read.map(([mark, entry]) => [mark, measureText(entry.reads.text)]);
  const key = JSON.stringify([here, readings]);
  if (!readings.length || (key === asked && at("answer").childElementCount)) return;
  asked = key;
  try {
    const answer = await send(`${base}/gate`, { mould: ids.mould, stage, readings });
    if (key !== asked) return;
    if (answer.problems) return at("answer").replaceChildren(make("p", { class: "bad" }, `${answer.problems[0].limit}. ${answer.problems[0].remedy}`));
    const { best } = answer.answer;
    const amount = `${(1000 * best.amount).toFixed(3)} mm`;
    const mend = () => { enter("event", stage === "part" ? aboutPart() : { mould: ids.mould }, { what: "mended", text: best.text, amount }); go(steps.findIndex((each) => each.chapter === step.chapter)); };
    const doing = stage !== "printed" && !["lay up", "accept", "reprint", "scrap"].includes(best.action);
    at("answer").replaceChildren(say(answer.answer), doing ? make("button", { type: "button", onclick: mend }, "I have done this: read again") : "");
  } catch {
    at("answer").replaceChildren(make("p", { class: "soft" }, "The answer comes when the network is back."));
  }
}

const measureText = (text) => (/^\d+(\.\d+)?$/.test(text.trim()) ? `${text.trim()} mm` : text);

function tellNet() {
  const { waiting, asked, cut } = queue;
  const place = at("net");
  const own = steps.length ? askedAt(steps[here]) : [];
  const elsewhere = steps.length ? asked.find((item) => !own.includes(item)) : null;
  if (steps.length) {
    tellAsked(at("write"), logOf(steps[here]));
    refresh();
  }
  if (elsewhere) {
    const number = steps.findIndex((step) => askedAt(step).includes(elsewhere));
    const look = number < 0 ? "It was of another mould or part: go on with that one." : make("button", { type: "button", onclick: () => go(number) }, "Look at it");
    place.replaceChildren(make("strong", {}, `Not in the log: ${elsewhere.text} `), look);
  } else if (cut && waiting.length) place.textContent = `No network: ${waiting.length} ${waiting.length === 1 ? "entry waits" : "entries wait"} on this page. Keep it open.`;
  else if (asked.length) place.textContent = "One reading waits for your answer.";
  else place.textContent = waiting.length ? "Sending" : ids.mould ? "All is in the log." : "";
}

// Beginning

async function look() {
  try {
    const { entries, now: theirs } = await get(`${base}/entries?since=${kept.newest}`);
    ahead = theirs - Date.now();
    entries.forEach((entry) => kept.take(entry));
    if (entries.length) refresh();
  } catch { /* the queue tells of a lost network */ }
}

async function begin(mould, part, step = "") {
  Object.assign(ids, mould.id ? { mould: mould.id, part: part.id } : await send(`${base}/begin`, { mould: mould.name, part: part.name }));
  await look();
  const found = await get(`${base}/steps?mould=${ids.mould}`);
  if (found.problems) throw new Error("this mould's job can no longer be planned by this program");
  steps = found.steps;
  at("part").textContent = found.name;
  at("whose").textContent = `mould ${mould.name}, part ${part.name}${found.changed ? ": steps as the job was when the mould was begun" : ""}`;
  at("choose").hidden = true;
  tellNet();
  at("work").hidden = false;
  const open = steps.findIndex((each) => !isDone(each));
  const kept_at = steps.findIndex((each) => each.id === step);
  go(kept_at >= 0 ? kept_at : open < 0 ? steps.length - 1 : open, false);
  setInterval(() => document.visibilityState === "visible" && look(), LOOK);
}

async function choose() {
  const { moulds } = await get(base);
  const [mould, part, step] = (sessionStorage.getItem(`bench:step:${job}`) || "").split("|");
  const known = moulds.flatMap((each) => each.parts.map((own) => [each, own]));
  const again = known.find(([each, own]) => each.id === mould && own.id === part);
  if (again) return begin(...again, step);
  at("known").replaceChildren(...known.map(([each, own]) => make("button", { type: "button", class: "known", onclick: () => begin(each, own) }, `Go on: mould ${each.name}, part ${own.name}`)));
  if (moulds.length) {
    const last = moulds.at(-1);
    at("mould-name").value = last.name;
    at("part-name").value = String(last.parts.length + 1);
  }
  at("choose").hidden = false;
}

at("begin").addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    await begin({ name: at("mould-name").value.trim() }, { name: at("part-name").value.trim() });
  } catch (error) {
    at("begin-said").textContent = `${error.message}.`;
  }
});
at("write").addEventListener("submit", (event) => event.preventDefault());
at("next").addEventListener("click", done);
at("back").addEventListener("click", () => go(here - 1));
at("undo").addEventListener("click", undo);
tellNet();
choose().catch((error) => { at("choose").hidden = false; at("begin-said").textContent = `${error.message}.`; });
