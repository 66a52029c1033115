// Letters as large as their box allows: first the height is used up, then letters are narrowed a little, and
// only then made smaller.
import { pixelsPerMinute } from "./settings.js";

/** Capitals and digits are about that high, and a line of nothing else needs that much, in parts of the size. */
const CAPITAL = 0.72;
const LINE = 0.86;
/** What reaches above capitals or below the line, and what a line with it needs. */
const TALL = /[gjpqyJQÀ-ÿ,;()/]/;
const TALL_LINE = 1.2;
/** Narrower than this, digits are taken for one another. */
const NARROWEST = 0.6;

const done = new WeakMap();

/** Fits the text of `box`, whose only child holds it: on one line, or on one for every word where that makes it larger. */
export function fit(box) {
  const text = box.firstElementChild;
  // All digits are equally wide.
  const key = `${text.textContent.replace(/\d/g, "0")} ${box.clientWidth} ${box.clientHeight} ${text.className}`;
  if (done.get(box)?.key === key) return;
  done.set(box, { key });
  const line = TALL.test(text.textContent) ? TALL_LINE : LINE;
  text.style.lineHeight = line;
  const [one, many] = [measure(box, line, false), measure(box, line, true)];
  // A break has to be worth it.
  const best = many.size > one.size * 1.15 ? many : one;
  set(text, best.size, best.isBroken);
  text.style.transform = `scaleX(${best.width > 0 ? Math.min(1, box.clientWidth / (best.width * best.size)) : 1})`;
}

function set(text, size, isBroken) {
  text.style.fontSize = `${size}px`;
  text.style.whiteSpace = isBroken ? "normal" : "nowrap";
  text.style.width = isBroken ? "min-content" : "auto";
}

function measure(box, line, isBroken) {
  const text = box.firstElementChild;
  text.style.transform = "none";
  set(text, 100, isBroken);
  const { width, height } = text.getBoundingClientRect();
  const lines = Math.max(1, Math.round(height / (100 * line)));
  const widest = width / 100;
  const size = widest > 0 ? Math.max(1, Math.min(box.clientHeight / (line * lines), box.clientWidth / (widest * NARROWEST))) : 1;
  return { size, width: widest, isBroken };
}

/** What is read from afar: preferred and least height of its capitals, minutes of arc (ISO 9241-303). */
const PREFERRED = 20;
const LEAST = 16;
/** Lines of words are narrowed only where they would be too small otherwise. */
const NARROWER = [1, 0.8, 0.66, NARROWEST];

/** Sets the words of `box` in lines within `room` pixels of height, as large as is preferred or as there is room for. */
export function fitLines(box, room) {
  const text = box.firstElementChild;
  const most = (PREFERRED * pixelsPerMinute()) / CAPITAL;
  const key = `${text.textContent} ${box.clientWidth} ${Math.round(room)} ${Math.round(most)}`;
  if (done.get(box)?.key === key) return;
  done.set(box, { key });
  const set = (size, narrow) => {
    text.style.fontSize = size ? `${size}px` : "";
    text.style.width = size ? `${100 / narrow}%` : "";
    text.style.transform = size ? `scaleX(${narrow})` : "";
  };
  set(0, 1);
  if (!room) return;
  let best = { size: 0, narrow: 1 };
  for (const narrow of NARROWER) {
    const size = largest(text, room, most, (size) => set(size, narrow));
    if (size > best.size) best = { size, narrow };
    if (best.size * CAPITAL >= LEAST * pixelsPerMinute()) break;
  }
  set(best.size, best.narrow);
}

function largest(text, room, most, set) {
  let [low, high] = [1, most];
  const fits = (size) => {
    set(size);
    return text.offsetHeight <= room && text.scrollWidth <= text.offsetWidth + 1;
  };
  if (fits(high)) return high;
  while (high - low > 0.5) {
    const size = (low + high) / 2;
    if (fits(size)) low = size;
    else high = size;
  }
  return low;
}
