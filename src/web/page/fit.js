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
