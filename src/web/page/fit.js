// Letters as large as their box allows: first the height is used up, then letters are narrowed a little, and
// only then made smaller.
import { pixelsPerMinute } from "./settings.js";

/** Capitals and digits are about that high, and a line without accents needs that much, in parts of the size. */
const CAPITAL = 0.72;
const LINE = 0.86;
/** Narrower than this, digits are taken for one another. */
const NARROWEST = 0.6;

const done = new WeakMap();

/** Fits the text of `box`, whose only child holds it. Gives the height of its capitals in minutes of arc. */
export function fit(box) {
  const text = box.firstElementChild;
  // All digits are equally wide.
  const key = `${text.textContent.replace(/\d/g, "0")} ${box.clientWidth} ${box.clientHeight} ${text.className}`;
  if (done.get(box)?.key === key) return done.get(box).size * CAPITAL / pixelsPerMinute();
  text.style.transform = "none";
  text.style.fontSize = "100px";
  const width = text.getBoundingClientRect().width / 100;
  const room = box.clientWidth;
  const size = width > 0
    ? Math.max(1, Math.min(box.clientHeight / LINE, room / (width * NARROWEST)))
    : 1;
  text.style.fontSize = `${size}px`;
  const narrowed = width > 0 ? Math.min(1, room / (width * size)) : 1;
  text.style.transform = `scaleX(${narrowed})`;
  done.set(box, { key, size });
  return size * CAPITAL / pixelsPerMinute();
}

/** What is read from afar: preferred and least height of its capitals, minutes of arc (ISO 9241-303). */
const PREFERRED = 20;
const LEAST = 16;
/** Lines of words are narrowed only where they would be too small otherwise. */
const NARROWER = [1, 0.8, 0.66];

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
