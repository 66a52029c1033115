// The words of the page, in the language that was chosen.
let table = {};
let chosen = "en";

export const LANGUAGES = { en: "English", de: "Deutsch", es: "Español", fr: "Français" };

export async function load(language) {
  const answer = await fetch(`/page/words/${language}`);
  if (answer.ok) {
    table = await answer.json();
    chosen = language;
    document.documentElement.lang = language;
  }
}

export const word = (name) => table[name] ?? name;

/** What the program says in a sentence of its own, in the language that was chosen; other people's words as they are. */
export const retold = (state, text) => state.wording?.[text]?.[chosen] ?? text;

/** A name of the plan as people say it: `front-left-wheel` is "Front left wheel". */
export function plain(name) {
  const text = name.replaceAll("-", " ");
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** The parts of `group/member`. */
export function parts(fastener) {
  const at = fastener.lastIndexOf("/");
  return at < 0 ? [fastener, 1] : [fastener.slice(0, at), Number(fastener.slice(at + 1))];
}

export function titleOf(group) {
  return group.title ?? plain(group.name);
}

/** A fastener as people say it. */
export function nameOf(state, fastener) {
  // Something that is asked before closing.
  if (fastener.includes(":")) return plain(fastener);
  const [name, member] = parts(fastener);
  const group = state.snapshot?.groups.find((one) => one.name === name);
  const title = group ? titleOf(group) : plain(name);
  return group && group.members.length === 1 ? title : `${title} ${member}`;
}
