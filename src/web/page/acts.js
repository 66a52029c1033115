// What the operator does: everything that is kept goes through here.
import { word } from "./words.js";

let say = () => {};

/** Where it is shown what came of an act. */
export const report = (show) => {
  say = show;
};

async function send(path, body) {
  try {
    const answer = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    const told = await answer.json();
    if (answer.ok) return told;
    say(`${told.title}: ${told.detail}`, true);
  } catch {
    say(word("not-done"), true);
  }
  return null;
}

async function done(sending, name) {
  const told = await sending;
  if (told && name) say(word(name), false);
  return told;
}

const mark = (fields, origin = "page") => send("/v1/jobs/current/marks", { ...fields, origin });

export const confirm = (hold, origin) => done(mark({ say: "confirm", hold }, origin), "noted");
export const at = (fastener) => done(mark({ say: "at", fastener }), "noted");
export const stated = (fastener, origin) => done(mark({ say: "stated", fastener }, origin), "noted");
export const opened = (fastener) => done(mark({ say: "opened", fastener }), "noted");
export const spoiled = (fastener) => done(mark({ say: "spoiled", fastener }), "noted");
/** Something that the plan does not have: free words become a name as plans have them. */
export function alsoOpened(text) {
  const plain = text.normalize("NFD").replaceAll(/\p{M}/gu, "").toLowerCase();
  return done(mark({ say: "also-opened", name: plain.replaceAll(/[^a-z0-9]+/g, "-").replaceAll(/^-|-$/g, "") }), "noted");
}
export const low = (fastener) => done(mark({ say: "low", fastener }), "noted");
export const skip = (fastener, reason) => done(mark({ say: "skip", fastener, reason }), "noted");
export const note = (text) => done(mark({ say: "note", text }), "noted");
export async function attach(about, file) {
  try {
    const answer = await fetch(`/v1/jobs/current/photos?about=${encodeURIComponent(about)}`, {
      method: "POST",
      headers: { "Content-Type": "application/octet-stream" },
      body: file,
    });
    const told = await answer.json();
    say(answer.ok ? word("photo-kept") : `${told.title}: ${told.detail}`, !answer.ok);
  } catch {
    say(word("not-done"), true);
  }
}

export const undo = () => done(mark({ say: "retract" }), "taken-back");
export const typed = (line) => done(send("/v1/typed", { line }), "noted");
export const repeat = () => send("/v1/repeat", {});
export const park = () => done(send("/v1/jobs/current/park", {}), "parked-now");
export const resume = (job) => done(send("/v1/jobs/resume", { job }), null);
export const close = (reason) =>
  done(send("/v1/jobs/current/close", reason ? { open_reason: reason } : {}), "closed-now");

export async function fetchJson(path) {
  try {
    const answer = await fetch(path);
    return answer.ok ? await answer.json() : null;
  } catch {
    return null;
  }
}

export async function rename(session, name) {
  try {
    const answer = await fetch(`/v1/sessions/${session}/name`, {
      method: "PUT",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ name }),
    });
    const told = await answer.json();
    say(answer.ok ? word("noted") : `${told.title}: ${told.detail}`, !answer.ok);
  } catch {
    say(word("not-done"), true);
  }
}

export async function shutOut(session) {
  try {
    await fetch(`/v1/sessions/${session}`, { method: "DELETE" });
  } catch {
    say(word("not-done"), true);
  }
}
