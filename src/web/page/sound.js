// Sounds and speech of this screen. Browsers keep silent until somebody touches the page: one tap arms it.
import { get } from "./settings.js";
import { link } from "./link.js";

/**
 * Rhythms, told apart by how many and how long, not only by pitch: [start s, length s, hertz].
 * "Reached" is two even quick ones, "over" three long ones that alternate.
 */
const RHYTHMS = {
  accepted: [[0, 0.12, 1500]],
  more: [[0, 0.08, 700], [0.14, 0.08, 950]],
  reached: [[0, 0.07, 1900], [0.11, 0.07, 1900]],
  over: [[0, 0.25, 800], [0.27, 0.25, 1200], [0.54, 0.25, 800]],
  attention: [[0, 0.2, 520], [0.3, 0.2, 520]],
};
const LOUDNESS = { more: 0.35, tick: 0.25 };
/** Ticks begin at this share of the target, and come faster the nearer it is. */
const TICKS_FROM = 0.7;
/** Prompts older than this were for somebody else. */
const FRESH_US = 4e6;

let context = null;
let heard = null;
let waiting = null;
let nextTick = 0;

export const isArmed = () => context !== null;

export async function arm() {
  if (!context) {
    const Context = window.AudioContext ?? window.webkitAudioContext;
    if (Context) context = new Context();
  }
  await context?.resume();
  play("accepted");
}

/** Takes in a state: plays and says what is new in it. */
export function hear(state) {
  const last = state.prompts.at(-1) ?? null;
  const known = heard ?? last?.number ?? 0;
  // A daemon that was started anew counts from 1 again.
  const fresh = state.prompts.filter(
    (prompt) => (last.number < known || prompt.number > known) && state.now - prompt.at < FRESH_US,
  );
  heard = last?.number ?? 0;
  for (const prompt of fresh) {
    play(prompt.cue);
    if (prompt.cue !== "more") offer(prompt);
  }
  ticks(state);
  speakNext(state);
}

export function play(cue) {
  const rhythm = RHYTHMS[cue];
  if (!context || !rhythm) return;
  for (const [start, length, hertz] of rhythm) tone(start, length, hertz, LOUDNESS[cue] ?? 1);
}

function tone(start, length, hertz, loudness) {
  const begin = context.currentTime + start;
  const oscillator = context.createOscillator();
  const gain = context.createGain();
  oscillator.type = "square";
  oscillator.frequency.value = hertz;
  const level = Math.max(0.0001, get("volume") * loudness * 0.6);
  // Edges that are not steep do not click.
  gain.gain.setValueAtTime(0.0001, begin);
  gain.gain.exponentialRampToValueAtTime(level, begin + 0.01);
  gain.gain.setValueAtTime(level, begin + length - 0.015);
  gain.gain.exponentialRampToValueAtTime(0.0001, begin + length);
  oscillator.connect(gain).connect(context.destination);
  oscillator.start(begin);
  oscillator.stop(begin + length + 0.02);
}

function ticks(state) {
  const pull = state.torque.find((one) => one.pull)?.pull;
  const name = state.snapshot?.next?.fastener;
  const group = name && state.snapshot.groups.find((one) => name.startsWith(`${one.name}/`));
  const target = group?.asked?.target_nm;
  if (!context || !pull || !target || pull.reached || pull.over) return;
  const share = pull.peak_nm / target;
  if (share < TICKS_FROM || performance.now() < nextTick) return;
  tone(0, 0.02, 1200, LOUDNESS.tick);
  nextTick = performance.now() + 60 + 500 * Math.max(0, 1 - (share - TICKS_FROM) / 0.27);
}

const RANK = ["next", "accepted", "more", "reached", "attention", "over"];

/** One waits at most: the more urgent, and of two alike the newer. */
function offer(prompt) {
  if (!waiting || RANK.indexOf(waiting.cue) <= RANK.indexOf(prompt.cue)) waiting = prompt;
}

function speakNext(state) {
  if (!waiting) return;
  const cutsIn = waiting.cue === "over" || waiting.cue === "reached";
  if (state.torque.some((one) => one.pull) && !cutsIn) return;
  if (waiting.cue !== "over" && window.speechSynthesis?.speaking) return;
  const quiet = get("talk") === "few" && !["attention", "over"].includes(waiting.cue);
  if (!quiet) utter(waiting.words[get("language")], waiting.cue === "over");
  waiting = null;
}

function utter(text, atOnce) {
  if (get("voice") !== "on" || !context || !window.speechSynthesis) return;
  if (atOnce) window.speechSynthesis.cancel();
  const words = new SpeechSynthesisUtterance(text);
  words.lang = get("language");
  words.volume = get("volume");
  words.onend = () => link.state && speakNext(link.state);
  window.speechSynthesis.speak(words);
}
