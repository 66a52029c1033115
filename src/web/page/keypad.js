// Large keys for a value that another tool showed.
import { el } from "./draw.js";
import { word } from "./words.js";

const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"];

/** A keypad; `give` is handed the number and the unit, which can be chosen where there are several. */
export function keypad({ first = "", units, give, leave }) {
  let text = first;
  const choice = [...new Set(units)];
  let unit = choice[0];
  const screen = el("output", { class: "typed", "aria-live": "polite" });
  const show = () => {
    screen.textContent = `${text || "–"} ${unit}`;
  };
  const press = (key) => {
    if (key === "⌫") text = text.slice(0, -1);
    else if (key !== "." || !text.includes(".")) text = (text + key).slice(0, 7);
    show();
  };
  const enter = () => {
    if (Number(text) > 0) give(text, unit);
  };
  const chooser = el(
    "div",
    { class: "row" },
    ...choice.map((one) =>
      el("button", { type: "button", "aria-pressed": String(one === unit), onclick: (event) => choose(one, event.target) }, one),
    ),
  );
  const choose = (one, node) => {
    unit = one;
    for (const other of chooser.children) other.setAttribute("aria-pressed", String(other === node));
    show();
  };
  const keys = KEYS.map((key) =>
    el("button", { type: "button", onclick: () => press(key), "aria-label": key === "⌫" ? word("clear") : key }, key),
  );
  const pad = el(
    "div",
    { class: "keypad", tabindex: "-1" },
    screen,
    ...(choice.length > 1 ? [chooser] : []),
    el("div", { class: "keys" }, ...keys),
    el(
      "div",
      { class: "row" },
      el("button", { type: "button", onclick: leave }, word("cancel")),
      el("button", { type: "button", class: "main", onclick: enter }, word("enter")),
    ),
  );
  pad.addEventListener("keydown", (event) => {
    if (/^[0-9.]$/.test(event.key)) press(event.key);
    else if (event.key === ",") press(".");
    else if (event.key === "Backspace") press("⌫");
    else if (event.key === "Enter" && !event.target.closest("button")) enter();
    else return;
    event.preventDefault();
    event.stopPropagation();
  });
  show();
  return pad;
}
