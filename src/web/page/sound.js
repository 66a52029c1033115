// Sounds and speech of this screen. Browsers keep silent until somebody touches the page: one tap arms it.
import { CUES, REST_S } from "./cues.js";
import { get } from "./settings.js";
import { link } from "./link.js";

const TICK = 0.25;
/** Ticks begin at this share of the target, and come faster the nearer it is. */
const TICKS_FROM = 0.7;
/** Prompts older than this were for somebody else. */
const FRESH_US = 4e6;

let context = null;
let heard = null;
let waiting = null;
/** When "more" came to wait; it is said to a hand that rests, and once until something else is. */
let waitsSince = 0;
/** The pull that it is due of is seen to be over: it may be judged before its torque is. */
let hasLetGo = false;
let saidMore = false;
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
    offer(prompt);
  }
  ticks(state);
  speakNext(state);
}

export function play(cue) {
  const rhythm = CUES[cue];
  if (!context || !rhythm) return;
  for (const one of rhythm.tones) tone(one.start_s, one.length_s, one.hertz, rhythm.loudness);
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
  tone(0, 0.02, 1200, TICK);
  nextTick = performance.now() + 60 + 500 * Math.max(0, 1 - (share - TICKS_FROM) / 0.27);
}

const RANK = ["next", "accepted", "more", "reached", "attention", "over"];

/** One waits at most: the more urgent, and of two alike the newer. */
function offer(prompt) {
  if (prompt.cue !== "more") saidMore = false;
  else if (saidMore && !prompt.of_pull) return;
  const isEnough = waiting?.cue === "more" && prompt.cue === "accepted";
  if (waiting && !isEnough && RANK.indexOf(waiting.cue) > RANK.indexOf(prompt.cue)) return;
  waiting = prompt;
  waitsSince = performance.now();
  hasLetGo = false;
  // Nobody may tell anything by the time that the hand has rested.
  if (prompt.cue === "more") setTimeout(() => link.state && speakNext(link.state), REST_S * 1000 + 20);
}

/** What is spoken of a prompt, as the settings have it; what needs somebody always is. */
function wordsOf(prompt) {
  const talk = get("talk");
  if (["attention", "over"].includes(prompt.cue) || talk === "all") return prompt.words;
  if (talk === "few" || prompt.cue === "next") return null;
  return prompt.of_pull ?? prompt.words;
}

function speakNext(state) {
  if (!waiting) return;
  const isPulling = state.torque.some((one) => one.pull);
  if (waiting.cue === "more") {
    if (isPulling && hasLetGo) waiting = null;
    hasLetGo = hasLetGo || !isPulling;
    if (isPulling || performance.now() - waitsSince < REST_S * 1000) return;
  }
  const cutsIn = waiting.cue === "over" || waiting.cue === "reached";
  if (isPulling && !cutsIn) return;
  if (waiting.cue !== "over" && window.speechSynthesis?.speaking) return;
  saidMore = saidMore || waiting.cue === "more";
  const words = wordsOf(waiting);
  if (words) utter(words[get("language")], waiting.cue === "over");
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
