// Small pieces of page that more than one screen shows. Text always goes in as text.

export function make(tag, attributes = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null) element.setAttribute(name, value);
  }
  element.append(...inside.filter((each) => each !== null));
  return element;
}

export function at(id) {
  return document.getElementById(id);
}

// The drawings come from the server's own hand, which escapes every text in them.
// One that is there already stays.
const drawn = new WeakMap();
export function draw(place, svg) {
  if (drawn.get(place) === svg) return;
  drawn.set(place, svg);
  place.replaceChildren(...(svg ? [new DOMParser().parseFromString(svg, "image/svg+xml").documentElement] : []));
}

export function tellVerdict(place, verdict, more = "") {
  place.textContent = verdict.sentence + more;
  place.className = `verdict ${verdict.level}`;
}

export function tellFacts(place, facts, ask) {
  place.replaceChildren(...facts.map((fact) =>
    make("div", {},
      make("dt", {}, fact.name),
      make("dd", { class: "value" }, fact.value),
      make("dd", { class: "remark" }, fact.remark,
        fact.why && ask
          ? make("span", {}, " ", make("button", { type: "button", class: "link", "aria-label": `where from? ${fact.name}`, onclick: () => ask(fact.why, fact.name) }, "where from?"))
          : null))));
}

export function tellEnds(place, ends) {
  place.replaceChildren(...ends.map((end) =>
    make("li", {}, make("strong", {}, end.layer), make("span", { class: "lies" }, end.lies), make("span", {}, `braid ${end.angle}`),
      make("span", {}, `could begin at ${end.starts}`))));
}

const LONG = 180; // letters; what is longer is no headline

export function finding(found, show) {
  const level = found.accepted ? "accepted" : found.level;
  return make("li", { class: found.accepted ? "" : found.level },
    make("span", { class: "level" }, level),
    make(found.what.length > LONG ? "span" : "strong", {}, found.what),
    found.accepted ? make("p", {}, `Accepted by the builder: ${found.accepted}`) : null,
    make("p", { class: "why" }, found.why),
    found.do.length ? make("ul", {}, ...found.do.map((remedy) => make("li", {}, remedy))) : null,
    make("div", { class: "where" },
      found.place && show ? make("button", { type: "button", class: "link", onclick: () => show(found.place) }, "show the place") : null,
      make("a", { href: `/manual/findings#${found.id}` }, found.id)));
}
