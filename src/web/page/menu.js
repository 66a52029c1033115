// Everything that is not one tap away: it covers the screen only as long as somebody uses it.
import * as acts from "./acts.js";
import { el } from "./draw.js";
import { keypad } from "./keypad.js";
import { link } from "./link.js";
import { groupOf } from "./stage.js";
import { take } from "./photo.js";
import { nameOf, parts, plain, titleOf, word } from "./words.js";

/** Nobody has touched it for so long: the work goes on, and has to be seen. */
const LEAVE_MS = 30000;

/** Stands before the names of what is noted as found. */
const AS_FOUND = "as-found:";

/** Units that service data state torque in. */
const UNITS = ["N·m", "lbf·ft", "lbf·in", "kgf·m", "kgf·cm"];

const node = () => document.getElementById("menu");
let leaving = 0;
let go = { show: () => {}, repeat: () => {} };

export const prepare = (ways) => {
  go = ways;
  node().addEventListener("pointerdown", stay);
  node().addEventListener("keydown", stay);
};

export const isOpen = () => !node().hidden;

export function leave() {
  node().hidden = true;
  node().replaceChildren();
  clearTimeout(leaving);
  document.getElementById("menu-open").setAttribute("aria-expanded", "false");
  document.getElementById("now").focus({ preventScroll: true });
}

function stay() {
  clearTimeout(leaving);
  leaving = setTimeout(leave, LEAVE_MS);
}

function fill(...children) {
  node().replaceChildren(...children);
  node().hidden = false;
  document.getElementById("menu-open").setAttribute("aria-expanded", "true");
  node().querySelector("button, .keypad, input")?.focus({ preventScroll: true });
  stay();
}

const button = (name, act, kind = "") =>
  el("button", { type: "button", class: kind, onclick: act }, word(name));

/** Does it and leaves. */
const then = (act) => () => {
  leave();
  act();
};

export function open() {
  const job = link.state?.job;
  const chooser = (name, act) => button(name, () => choose(name, act));
  const work = job
    ? [
        button("undo", then(acts.undo)),
        button("repeat", then(go.repeat)),
        button("value", () => enterValue("")),
        chooser("at", acts.at),
        chooser("stated", acts.stated),
        chooser("low", acts.low),
        chooser("opened", acts.opened),
        button("also-opened", () => ask("also-opened", acts.alsoOpened)),
        chooser("spoiled", acts.spoiled),
        chooser("skip", (name) => ask("reason", (reason) => acts.skip(name, reason))),
        button("note", () => ask("note", acts.note)),
        button("photo", choosePhoto),
      ]
    : [];
  fill(
    el("h2", {}, word("menu")),
    el(
      "div",
      { class: "grid" },
      button("close-menu", leave, "main"),
      button("whole-job", then(() => go.show("job"))),
      button("settings", then(() => go.show("settings"))),
      ...work,
    ),
  );
}

/** Which fastener: first those of the group at hand. */
function choose(name, act) {
  const state = link.state;
  const next = state.snapshot.next?.fastener;
  const first = next ? groupOf(state, next) : null;
  const groups = [first, ...state.snapshot.groups.filter((one) => one !== first)].filter(Boolean);
  const part = (group) =>
    el(
      "section",
      {},
      el("h3", {}, group.title ?? nameOf(state, group.members.length > 1 ? group.name : `${group.name}/1`)),
      el(
        "div",
        { class: "grid numbers" },
        ...group.members.map((member) =>
          el("button", { type: "button", onclick: then(() => act(member.name)) }, `${parts(member.name)[1]}`),
        ),
      ),
    );
  fill(el("h2", {}, word(name)), button("cancel", leave), ...groups.map(part));
}

/** What the photo is of: a joint, or something that is noted as found. */
function choosePhoto() {
  const state = link.state;
  const facts = state.snapshot.holds.filter((one) => one.name.startsWith(AS_FOUND));
  const one = (name, text) => el("button", { type: "button", onclick: then(() => take(name, acts.attach)) }, text);
  fill(
    el("h2", {}, word("photo")),
    button("cancel", leave),
    el("div", { class: "grid" }, ...state.snapshot.groups.map((group) => one(group.name, titleOf(group)))),
    facts.length ? el("h3", {}, word("as-found")) : "",
    el("div", { class: "grid" }, ...facts.map((fact) => one(fact.name, plain(fact.name.slice(AS_FOUND.length))))),
  );
}

/** Free words: what cannot be taken back needs a reason. */
export function ask(name, act) {
  const input = el("input", { id: "words", maxlength: 200, autocomplete: "off" });
  const form = el(
    "form",
    {},
    el("label", { for: "words" }, word(name)),
    input,
    el(
      "div",
      { class: "row" },
      button("cancel", leave),
      el("button", { type: "submit", class: "main" }, word("enter")),
    ),
  );
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const text = input.value.trim();
    if (text) then(() => act(text))();
  });
  fill(form);
  input.focus();
}

/** The unit that the plan's other joints are stated in, if it is one. */
function usualUnit(state) {
  const units = new Set(state.snapshot.groups.map((one) => one.asked?.unit).filter(Boolean));
  return units.size === 1 ? [...units][0] : "N·m";
}

/** The value of a joint that the plan left open. */
export function giveValue(first) {
  const state = link.state;
  const group = state?.snapshot?.next?.group;
  if (!group) return;
  fill(
    el("h2", {}, `${word("give-value")}: ${titleOf(groupOf(state, `${group}/1`))}`),
    keypad({
      first,
      units: [usualUnit(state), ...UNITS],
      give: (text, unit) => then(() => acts.typed(`value ${group} ${text} ${unit}`))(),
      leave,
    }),
  );
  node().querySelector(".keypad").focus({ preventScroll: true });
}

export function enterValue(first) {
  const state = link.state;
  if (state?.snapshot?.next?.kind === "look-up") {
    giveValue(first);
    return;
  }
  const target = state?.snapshot?.next?.fastener;
  if (!target) return;
  const unit = groupOf(state, target)?.asked?.unit ?? "N·m";
  fill(
    el("h2", {}, `${word("value")}: ${nameOf(state, target)}`),
    keypad({
      first,
      units: [unit],
      give: (text) => then(() => acts.typed(`${text} ${unit} at ${target}`))(),
      leave,
    }),
  );
  node().querySelector(".keypad").focus({ preventScroll: true });
}
