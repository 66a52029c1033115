// The working view: puts on the screen what stage.js worked out.
import { confirm, stated, undo } from "./acts.js";
import { gauge, group as drawGroup, sign } from "./draw.js";
import { fit, fitLines } from "./fit.js";
import { daemonNow, link } from "./link.js";
import { giveValue, isOpen } from "./menu.js";
import { stage, trouble, warningKey } from "./stage.js";
import { word } from "./words.js";

const $ = (id) => document.getElementById(id);
/** Warnings that were seen on this screen. */
const seen = new Set();
let shown = { phase: "wait" };
let sound = { isArmed: () => true, arm: () => {} };
let drawn = {};
/** The word of an alarm takes no more than that of the screen's height. */
const BAND_SHARE = 0.34;
/** The same of one that can wait once it has stood for so many milliseconds: the work is in view again. */
const WAITING_SHARE = 0.1;
const WAITING_MS = 10_000;
/** What the band says, and since when. */
let banded = { word: "", since: 0 };
/** What was over when this was last looked at. */
let over = "";

const view = () => ({
  now: performance.now(),
  alive: link.alive,
  shutOut: link.shutOut,
  torqueAt: link.torqueAt,
  latestAt: link.latestAt,
  cut: link.cut,
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

/** Puts up what is so now. True if something has gone over that had not before. */
export function render() {
  const state = link.state;
  const looks = view();
  shown = stage(state, looks);
  const body = document.body;
  body.dataset.phase = shown.phase;
  body.dataset.how = shown.how ?? "";
  body.classList.toggle("lone", (shown.group?.members.length ?? 1) === 1);
  body.classList.toggle("stale", !link.alive);
  const covered = isOpen() || body.dataset.view !== "now";
  band(state && ((covered && weighty(shown)) || trouble(state, looks)));
  strip(state);
  write($("group").firstElementChild, shown.title ?? "");
  $("group").hidden = !shown.title;
  write($("pass"), shown.pass ?? "");
  figure(shown);
  write($("unit"), shown.unit ?? "");
  redraw("shape", shown.sign, () => sign(shown.sign));
  write($("word").firstElementChild, shown.word);
  write($("say").firstElementChild, shown.say ?? "");
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
    // What is asked or warned of is read from afar; what stands beside a figure need not be.
    const isRead = ["hold", "warned", "silent"].includes(shown.phase);
    fitLines($("say"), isRead ? $("say").clientHeight : 0);
  }
  const before = over;
  over = shown.how === "over" ? (shown.warning ? "told" : "felt") : "";
  return over !== "" && before === "";
}

/** What has to be seen wherever somebody is just now. */
function weighty(scene) {
  return scene.how === "over" || scene.phase === "silent" ? scene : null;
}

function figure({ head, tail }) {
  write($("head"), head ?? "");
  write($("tail"), tail ?? "");
}

function band(wrong) {
  const node = $("band");
  node.hidden = !wrong;
  if (wrong) {
    redraw("band-sign", wrong.sign, () => sign(wrong.sign));
    write($("band-word").firstElementChild, wrong.word);
    write($("band-say"), wrong.say);
    if (banded.word !== wrong.word) banded = { word: wrong.word, since: performance.now() };
    const waits = wrong.canWait && performance.now() - banded.since > WAITING_MS;
    fitLines($("band-word"), innerHeight * (waits ? WAITING_SHARE : BAND_SHARE));
  } else {
    banded = { word: "", since: 0 };
  }
  // What covers the screen begins below it.
  document.documentElement.style.setProperty("--band", `${node.offsetHeight}px`);
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
  // As long as nothing is heard here, that stays large, whatever else is to be answered.
  $("arm").hidden = sound.isArmed() || due?.act === sound.arm;
  write($("arm"), word("sound-off"));
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

