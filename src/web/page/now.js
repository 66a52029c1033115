// The working view: puts on the screen what stage.js worked out.
import { confirm, stated, undo } from "./acts.js";
import { gauge, group as drawGroup, sign } from "./draw.js";
import { fit } from "./fit.js";
import { daemonNow, link } from "./link.js";
import { giveValue } from "./menu.js";
import { stage, trouble, warningKey } from "./stage.js";
import { word } from "./words.js";

const $ = (id) => document.getElementById(id);
/** Warnings that were seen on this screen. */
const seen = new Set();
let shown = { phase: "wait" };
let sound = { isArmed: () => true, arm: () => {} };
let drawn = {};

const view = () => ({
  now: performance.now(),
  alive: link.alive,
  shutOut: link.shutOut,
  torqueAt: link.torqueAt,
  latestAt: link.latestAt,
  seen,
});

/** Until sound is armed, that is what the button is for when nothing else waits for an answer. */
export const prepare = (ways) => {
  sound = ways;
};

/** What the one large button, Enter, and a pedal do just now. */
export function answer() {
  if (!link.alive) return null;
  const next = link.state?.snapshot?.next;
  if (shown.phase === "warned" && shown.warning) {
    return { label: word("seen"), act: () => see(shown.warning) };
  }
  if (shown.phase === "hold" && next?.kind === "confirm") {
    return { label: word("yes"), act: (origin) => confirm(next.hold, origin) };
  }
  if (shown.phase === "hold" && next?.kind === "look-up") {
    return { label: word("give-value"), act: () => giveValue("") };
  }
  if (shown.phase === "next" && next?.kind === "state") {
    return { label: word("done"), act: (origin) => stated(next.fastener, origin) };
  }
  if (!sound.isArmed()) return { label: word("sound-off"), act: sound.arm };
  return null;
}

export const takeBack = () => (link.alive && link.state?.job ? undo() : null);

function see(warning) {
  seen.add(warningKey(warning));
  render();
}

/** Writes only what is different: the voice of a screen reader repeats what is written anew. */
function write(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

function redraw(name, key, make) {
  if (drawn[name] === key) return;
  drawn[name] = key;
  $(name).replaceChildren(...[make()].filter(Boolean));
}

export function forget() {
  drawn = {};
}

export function render() {
  const state = link.state;
  const looks = view();
  shown = stage(state, looks);
  const body = document.body;
  body.dataset.phase = shown.phase;
  body.dataset.how = shown.how ?? "";
  body.classList.toggle("lone", (shown.group?.members.length ?? 1) === 1);
  body.classList.toggle("stale", !link.alive);
  band(state && trouble(state, looks));
  strip(state);
  write($("group").firstElementChild, shown.title ?? "");
  $("group").hidden = !shown.title;
  write($("pass"), shown.pass ?? "");
  figure(shown);
  write($("unit"), shown.unit ?? "");
  redraw("shape", shown.sign, () => sign(shown.sign));
  write($("word").firstElementChild, shown.word);
  write($("say"), shown.say ?? "");
  const asked = shown.asked ?? null;
  redraw("gauge", asked ? `${asked.limits} ${shown.nm.toFixed(1)} ${shown.peak}` : "", () =>
    asked ? gauge(asked, shown.nm, shown.peak) : null,
  );
  const group = shown.group ?? null;
  redraw("picture", group ? JSON.stringify([group, shown.next]) : "", () =>
    group ? drawGroup(group, shown.next, (how) => word(how)) : null,
  );
  buttons();
  if (body.dataset.view === "now") {
    for (const box of ["group", "figure", "word"]) fit($(box));
  }
}

function figure({ head, tail }) {
  write($("head"), head ?? "");
  write($("tail"), tail ?? "");
}

function band(wrong) {
  const node = $("band");
  node.hidden = !wrong;
  const key = wrong ? JSON.stringify(wrong) : "";
  if (drawn.band === key) return;
  drawn.band = key;
  if (!wrong) return;
  node.children[0].replaceChildren(sign(wrong.sign));
  write(node.children[1], wrong.word);
  write(node.children[2], wrong.say);
}

function strip(state) {
  write($("plan"), state?.snapshot?.plan ?? "Clampbook");
  write($("link"), linkWord(state));
  $("link").dataset.link = linkState(state) ?? "";
  const charges = (state?.links ?? []).map((one) => one.battery_pct).filter((one) => one !== null);
  write($("battery"), charges.length ? `${word("battery")} ${Math.min(...charges)} %` : "");
  write($("age"), ageWord(state));
}

function linkState(state) {
  const links = (state?.adapters ?? []).map((one) => one.link);
  return ["back", "asleep", "lost"].find((one) => links.includes(one)) ?? null;
}

function linkWord(state) {
  if (!link.alive) return word("gone-short");
  const wanted = state?.links?.length || state?.adapters?.length;
  if (!wanted) return word("no-adapter");
  return word({ back: "linked", asleep: "asleep", lost: "lost" }[linkState(state)] ?? "looking");
}

/** How old the last value is. What comes from a recording has its own time, so that arrival counts. */
function ageWord(state) {
  if (!state) return "";
  const values = [
    ...state.links.map((one) => one.last_value),
    Number.isFinite(link.torqueAt) ? link.ahead + link.torqueAt * 1000 : null,
    Number.isFinite(link.latestAt) ? link.ahead + link.latestAt * 1000 : (state.latest?.at ?? null),
  ].filter((one) => one !== null);
  if (!values.length) return "";
  const seconds = Math.max(0, Math.floor((daemonNow() - Math.max(...values)) / 1e6));
  const text = seconds < 120 ? `${seconds} s` : seconds < 7200 ? `${Math.floor(seconds / 60)} min` : `${Math.floor(seconds / 3600)} h`;
  return `${word("last-value")} ${text}`;
}

function buttons() {
  const due = answer();
  const node = $("answer");
  node.hidden = !due;
  if (due) write(node, due.label);
  write($("back"), word("undo"));
  $("back").disabled = !link.alive || !link.state?.job;
  write($("menu-open"), word("menu"));
}

/** A notice of what came of an act, for a while. */
let noticeEnds = 0;
export function notice(text, isBad) {
  const node = $("notice");
  node.textContent = text;
  node.classList.toggle("bad", isBad);
  node.hidden = false;
  clearTimeout(noticeEnds);
  noticeEnds = setTimeout(() => {
    node.hidden = true;
  }, isBad ? 8000 : 2500);
}

