// What the daemon tells, and whether it still does.
//
// A connection does not tell that the other end has gone out of reach, so that a pulse is asked for each
// second. Whatever was heard before that fails is old, and is shown so.
const PULSE_MS = 800;
const ANSWER_MS = 900;
const AGAIN_MS = 500;

export const link = {
  state: null,
  alive: false,
  shutOut: false,
  /** When torque, the latest verdict and anything at all came, on this screen's own clock. */
  torqueAt: -Infinity,
  latestAt: -Infinity,
  heardAt: -Infinity,
  /** The adapter that fell silent while a pull was on: of that pull nothing is known. */
  cut: null,
  /** The daemon's clock less this screen's, microseconds. */
  ahead: 0,
};

let stream = null;
let tell = () => {};

export function listen(watcher) {
  tell = watcher;
  open();
  beat();
}

/** The daemon's present moment, microseconds. */
export const daemonNow = () => link.ahead + performance.now() * 1000;

function open() {
  stream?.close();
  stream = new EventSource("/v1/events");
  stream.addEventListener("snapshot", (event) => take(JSON.parse(event.data), true));
  stream.addEventListener("change", (event) => take(JSON.parse(event.data), false));
  stream.addEventListener("error", () => {
    stream.close();
    stream = null;
    lost();
  });
}

function take(fields, whole) {
  const before = link.state;
  if (!whole && (!before || fields.revision !== before.revision + 1)) {
    open();
    return;
  }
  const state = whole ? fields : { ...before, ...fields };
  const now = performance.now();
  link.ahead = state.now - now * 1000;
  link.heardAt = now;
  if (JSON.stringify(state.torque) !== JSON.stringify(before?.torque)) link.torqueAt = now;
  const key = (latest) => latest && `${latest.adapter} ${latest.seq} ${latest.at}`;
  if (before && key(state.latest) !== key(before.latest)) link.latestAt = now;
  link.cut = cut(before, state);
  link.state = state;
  link.alive = true;
  link.shutOut = false;
  tell(before);
}

/** An adapter is cut off in a pull, and stays so until it is heard again. */
function cut(before, state) {
  const silent = (id) => state.adapters.some((one) => one.id === id && one.link !== null && one.link !== "back");
  if (link.cut && silent(link.cut)) return link.cut;
  return before?.torque.find((one) => one.pull && silent(one.adapter))?.adapter ?? null;
}

function lost() {
  if (link.alive) {
    link.alive = false;
    tell(link.state);
  }
}

async function beat() {
  const stop = new AbortController();
  const limit = setTimeout(() => stop.abort(), ANSWER_MS);
  let answered = false;
  try {
    const answer = await fetch("/v1/pulse", { signal: stop.signal, cache: "no-store" });
    answered = answer.ok;
    if (answer.status === 401 && !link.shutOut) {
      link.shutOut = true;
      lost();
      tell(link.state);
    }
  } catch {
    answered = false;
  }
  clearTimeout(limit);
  if (answered) {
    link.heardAt = performance.now();
    // A state that came before the silence may be old: it is told anew.
    if (!stream || !link.alive) open();
  } else {
    lost();
  }
  setTimeout(beat, answered ? PULSE_MS : AGAIN_MS);
}
