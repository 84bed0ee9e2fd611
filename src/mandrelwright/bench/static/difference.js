// Lines that differ between two texts: the longest common run of lines stays, the rest is told.
import { make } from "./parts.js";

const AROUND = 2; // equal lines shown beside a change
const drawnIn = (text) => text.replace(/ {3,}#/, "  #"); // a comment's column is too far for a phone

export function difference(before, after) {
  const [a, b] = [before.split("\n"), after.split("\n")];
  const common = Array.from({ length: a.length + 1 }, () => new Uint16Array(b.length + 1));
  for (let i = a.length - 1; i >= 0; i--) {
    for (let j = b.length - 1; j >= 0; j--) {
      common[i][j] = a[i] === b[j] ? common[i + 1][j + 1] + 1 : Math.max(common[i + 1][j], common[i][j + 1]);
    }
  }
  const lines = [];
  let [i, j] = [0, 0];
  while (i < a.length || j < b.length) {
    if (i < a.length && j < b.length && a[i] === b[j]) lines.push([" ", a[i++], j++]);
    else if (j >= b.length || (i < a.length && common[i + 1][j] >= common[i][j + 1])) lines.push(["−", a[i++]]);
    else lines.push(["+", b[j++]]);
  }
  return lines;
}

export function showDifference(place, before, after) {
  const lines = difference(before, after);
  const near = lines.map((_, n) => lines.slice(Math.max(n - AROUND, 0), n + AROUND + 1).some(([sign]) => sign !== " "));
  place.replaceChildren();
  lines.forEach(([sign, text], n) => {
    if (!near[n]) return void (n && near[n - 1] && place.append("⋯\n"));
    const kind = { "−": "gone", "+": "come" }[sign];
    place.append(kind ? make("span", { class: kind }, `${sign} ${drawnIn(text)}\n`) : `  ${drawnIn(text)}\n`);
  });
  return lines.some(([sign]) => sign !== " ");
}
