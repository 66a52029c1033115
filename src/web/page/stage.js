// What stands on the screen, worked out from the state alone: one thing at a time, the most urgent first.
import { nameOf, parts, plain, retold, titleOf, word } from "./words.js";

/** So long the word for a good pull stands before what is next does. */
const TOLD_MS = 3500;
/** Without a new value for so long there is no reading, even though a pull was on. */
const SILENT_MS = 1200;
/** Warnings that are put before others, the most urgent first. */
const URGENT = ["high-torque", "over-angle", "did-not-turn", "hold-open", "backed-off", "loosened", "link-lost"];
export const LOW_BATTERY = 10;

/** With what and how a group is pulled, part by part. */
export function handling(group) {
  return [
    group.socket ? `${word("socket")} ${group.socket}` : "",
    group.turned ? word(`turn-${group.turned}`) : "",
    group.hold_with ? `${word("hold-with")} ${group.hold_with}` : "",
    group.by_hand_only ? word("no-impact") : "",
    group.access && group.access !== "fits" ? word(group.access) : "",
  ].filter(Boolean);
}

/** A torque in a unit, such that its whole part can be large: `["131", ".4"]`. */
export function figure(nm, unitNm, fine) {
  const value = Math.abs(nm) / unitNm;
  const places = fine ? (value < 10 ? 2 : 1) : value < 20 ? 1 : 0;
  const text = value.toFixed(places);
  const at = text.indexOf(".");
  return at < 0 ? [text, ""] : [text.slice(0, at), text.slice(at)];
}

export function warningKey(warning) {
  return `${warning.code} ${warning.at} ${warning.fastener} ${warning.seq}`;
}

/** The warning that stands: none older than the pull that came last, unless it was seen. */
export function standingWarning(state, seen) {
  const since = state.latest?.at ?? -Infinity;
  const open = (state.snapshot?.warnings ?? []).filter(
    (one) => one.at >= since && !seen.has(warningKey(one)),
  );
  const rank = (one) => (URGENT.includes(one.code) ? URGENT.indexOf(one.code) : URGENT.length);
  return open.reduce((best, one) => (best && rank(best) < rank(one) ? best : one), null);
}

export function groupOf(state, fastener) {
  const [name] = parts(fastener);
  return state.snapshot.groups.find((group) => group.name === name) ?? null;
}

/** The group that the work is in. */
function groupAtHand(state) {
  const next = state.snapshot.next;
  if (next?.fastener) return groupOf(state, next.fastener);
  if (next?.group) return state.snapshot.groups.find((group) => group.name === next.group) ?? null;
  return state.latest?.step ? groupOf(state, `${state.latest.step}/1`) : null;
}

/** What is on: phase, sign, words, figure, group. */
export function stage(state, view) {
  if (!state) return { phase: "wait", sign: "gone", word: word("waiting"), say: "" };
  if (!state.job || !state.snapshot) {
    return { phase: "none", sign: "next", word: word("no-job"), say: word("no-job-help") };
  }
  const group = groupAtHand(state);
  const next = state.snapshot.next;
  const scene = {
    group,
    next: next?.fastener ?? null,
    title: group ? titleOf(group) : state.snapshot.plan,
    pass: group && group.passes > 1 ? `${word("pass")} ${group.pass} ${word("of")} ${group.passes}` : "",
  };
  return (
    pulling(state, view, scene) ??
    warned(state, view, scene) ??
    told(state, view, scene) ??
    due(state, scene)
  );
}

function pulling(state, view, scene) {
  const silent = { ...scene, phase: "silent", sign: "gone", word: word("no-reading"), say: word("no-reading-help") };
  if (view.cut) return silent;
  const torque = state.torque.find((one) => one.pull);
  if (!torque) return null;
  const asked = scene.group?.asked ?? null;
  const unitNm = asked?.unit_nm ?? 1;
  if (view.now - view.torqueAt > SILENT_MS || !view.alive) {
    return silent;
  }
  const nm = scene.group?.left_hand ? -torque.nm : torque.nm;
  const how = torque.pull.over ? "over" : torque.pull.reached ? "reached" : "pull";
  const [head, tail] = figure(how === "over" ? torque.pull.peak_nm : nm, unitNm, false);
  return {
    ...scene,
    phase: "pull",
    how,
    sign: how === "pull" ? "more" : how,
    word: how === "pull" ? word("pull") : word(how),
    say: asked ? asked.limits : "",
    head,
    tail,
    unit: asked?.unit ?? "N·m",
    asked,
    nm,
    peak: torque.pull.peak_nm,
  };
}

function warned(state, view, scene) {
  const warning = standingWarning(state, view.seen);
  if (!warning) return null;
  const how = warning.code === "high-torque" ? "over" : "check";
  const latest = state.latest;
  const ofPull = latest && warning.seq === latest.seq && warning.adapter === latest.adapter;
  return {
    ...scene,
    ...(ofPull ? peakOf(state, latest) : {}),
    title: warning.fastener ? nameOf(state, warning.fastener) : scene.title,
    phase: "warned",
    how,
    sign: how,
    word: word(how),
    say: retold(state, warning.text),
    warning,
  };
}

function peakOf(state, verdict) {
  const group = verdict.step ? groupOf(state, `${verdict.step}/1`) : null;
  const asked = group?.asked ?? null;
  const [head, tail] = figure(verdict.peak, asked?.unit_nm ?? 1, true);
  return { head, tail, unit: asked?.unit ?? "N·m", asked, nm: 0, peak: Math.abs(verdict.peak) };
}

function told(state, view, scene) {
  const verdict = state.latest;
  const how = { in: "reached", low: "more", high: "over" }[verdict?.torque];
  if (!how) return null;
  const fresh = view.now - view.latestAt < TOLD_MS;
  // What is low or over stands until something comes of it.
  const stays = how !== "reached" && scene.next && parts(scene.next)[0] === verdict.step;
  if (!fresh && !(stays && how === "more")) return null;
  return {
    ...scene,
    ...peakOf(state, verdict),
    title: verdict.fastener ? nameOf(state, verdict.fastener) : scene.title,
    phase: "told",
    how,
    sign: how,
    word: word(how),
    say: verdict.confidence < 0.8 ? `${word("taken-for")} ${nameOf(state, verdict.fastener ?? "")}` : scene.group?.asked?.limits ?? "",
  };
}

function due(state, scene) {
  const next = state.snapshot.next;
  const group = scene.group;
  switch (next?.kind) {
    case "confirm":
      return { ...scene, phase: "hold", sign: "hold", word: word("hold"), say: retold(state, next.text), title: plain(next.hold) };
    case "look-up":
      return { ...scene, phase: "hold", how: "look-up", sign: "check", word: word("look-up"), say: word("look-up-help") };
    case "state":
      return { ...scene, ...numberOf(scene), phase: "next", sign: "next", word: word("by-hand"), say: word("state-help") };
    case "pull": {
      const asked = group?.asked ?? null;
      const how = group ? handling(group).map((part) => ` · ${part}`).join("") : "";
      return {
        ...scene,
        ...numberOf(scene),
        phase: "next",
        sign: "next",
        word: asked ? `${asked.target} ${asked.unit}` : word("by-hand"),
        say: asked ? `${asked.limits}${how}` : word("by-hand-help"),
      };
    }
    default: {
      const open = state.snapshot.open.length;
      return open === 0
        ? { ...scene, title: state.snapshot.plan, pass: "", phase: "done", sign: "done", word: word("nothing-open"), say: word("nothing-open-help") }
        : { ...scene, phase: "warned", how: "check", sign: "check", word: word("open"), say: state.snapshot.open.map((one) => nameOf(state, one)).join(", ") };
    }
  }
}

function numberOf(scene) {
  if (!scene.next || !scene.group) return { how: "bare" };
  if (scene.group.members.length > 1) return { head: `${parts(scene.next)[1]}`, tail: "", unit: "" };
  const asked = scene.group.asked;
  return asked ? { head: `${asked.target}`, tail: "", unit: asked.unit } : { how: "bare" };
}

/**
 * What is wrong with the way here, the most urgent first: `{sign, word, say}` or nothing; `canWait` if the work goes on
 * meanwhile.
 */
export function trouble(state, view) {
  if (view.shutOut) return { sign: "gone", word: word("shut-out"), say: word("shut-out-help") };
  if (!view.alive) return { sign: "gone", word: word("gone"), say: word("gone-help") };
  if (state.trouble) return { sign: "over", word: word("not-kept"), say: `${word("not-kept-help")} (${state.trouble})` };
  const away = state.adapters.filter((one) => one.link === "lost");
  const due = state.snapshot?.next?.kind === "pull";
  if (state.job && due && away.length) {
    // Of several it has to be said which.
    const which = state.adapters.length > 1 ? `${away.map((one) => one.id).join(", ")}: ` : "";
    return { sign: "gone", word: word("link-lost"), say: which + word("link-lost-help") };
  }
  const weak = state.links.find((one) => one.battery_pct !== null && one.battery_pct <= LOW_BATTERY);
  if (weak) return { sign: "check", word: word("battery-low"), say: `${weak.battery_pct} %`, canWait: true };
  return null;
}
