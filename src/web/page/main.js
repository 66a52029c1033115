// The live page: joins what is told, what is shown, what is heard and what is done.
import * as acts from "./acts.js";
import { el } from "./draw.js";
import * as job from "./job.js";
import * as keys from "./keys.js";
import { link, listen } from "./link.js";
import * as menu from "./menu.js";
import * as now from "./now.js";
import * as settings from "./settings.js";
import * as sound from "./sound.js";
import { LANGUAGES, load, word } from "./words.js";

const $ = (id) => document.getElementById(id);
let lock = null;

function show(view) {
  document.body.dataset.view = view;
  for (const name of ["now", "job", "settings"]) $(name).hidden = name !== view;
  scrollTo(0, 0);
  if (view === "job") job.forget();
  if (view === "settings") fillSettings();
  render();
}

function render() {
  // What is over is not looked for behind something else: it takes the screen, once.
  if (now.render()) {
    menu.leave();
    if (document.body.dataset.view !== "now") show("now");
  }
  const view = document.body.dataset.view;
  if (view === "job") job.render(show);
  $("sound").textContent = sound.isArmed() ? word("sound-on") : "";
}

/** One tap: sound may be heard from now on, and the screen stays awake where the browser lets it. */
async function start() {
  await sound.arm();
  await stayAwake();
  render();
}

async function stayAwake() {
  if (!sound.isArmed() || !navigator.wakeLock || document.visibilityState !== "visible") return;
  try {
    lock = await navigator.wakeLock.request("screen");
  } catch {
    lock = null;
  }
}

async function repeat() {
  const told = await acts.repeat();
  if (told) now.notice(told.words[settings.get("language")], false);
}

async function fillSettings() {
  const choice = (name, label, values) =>
    el(
      "label",
      {},
      word(label),
      el(
        "select",
        { onchange: (event) => settings.set(name, parse(event.target.value)) },
        ...values.map(([value, text]) =>
          el("option", { value, selected: String(settings.get(name)) === String(value) }, text),
        ),
      ),
    );
  const parse = (text) => (text !== "" && Number.isFinite(Number(text)) ? Number(text) : text);
  const metres = [0.5, 1, 1.5, 2, 2.5, 3, 4].map((value) => [value, `${value} m`]);
  const card = el("div", { class: "card", "aria-hidden": "true" });
  const scale = el("input", {
    type: "range", min: 2.5, max: 9, step: 0.05, value: settings.get("perMm"),
    oninput: (event) => settings.set("perMm", Number(event.target.value)),
  });
  const pedal = el("input", {
    id: "pedal", readonly: "", autocomplete: "off", value: settings.get("pedal"), placeholder: word("pedal-none"),
    onkeydown: (event) => {
      if (["Tab", "Shift", "Escape"].includes(event.key)) return;
      event.preventDefault();
      settings.set("pedal", ["Backspace", "Delete"].includes(event.key) ? "" : event.key);
      event.target.value = settings.get("pedal");
    },
  });
  const screens = await acts.fetchJson("/v1/sessions");
  const rows = (screens?.screens ?? []).map((one) =>
    el(
      "p",
      {},
      `${one.session}: ${one.name} · ${one.device}, ${one.from} ${one.session === screens.own ? `(${word("this-screen")}) ` : ""}`,
      el("button", { type: "button", onclick: () => acts.shutOut(one.session).then(fillSettings) }, word("shut-out-act")),
    ),
  );
  const own = screens?.screens.find((one) => one.session === screens.own);
  const name = own && el("input", {
    id: "screen-name", maxlength: 40, autocomplete: "name", value: own.name,
    onchange: (event) => acts.rename(own.session, event.target.value).then(fillSettings),
  });
  const awake = window.isSecureContext && navigator.wakeLock ? null : el("p", {}, word("not-awake"));
  $("settings").replaceChildren(
    el("div", { class: "row" }, el("button", { type: "button", class: "main", onclick: () => show("now") }, word("now"))),
    el("h2", {}, word("settings")),
    choice("distance", "distance", metres),
    el("label", {}, word("scale"), scale),
    card,
    choice("light", "light", [["auto", word("auto")], ["dark", word("dark")], ["sunlit", word("sunlit")]]),
    choice("language", "language", Object.entries(LANGUAGES)),
    choice("voice", "voice", [["off", word("off")], ["on", word("on")]]),
    choice("volume", "volume", [[0.3, "30 %"], [0.6, "60 %"], [1, "100 %"]]),
    choice("talk", "talk", [["all", word("talk-all")], ["values", word("talk-values")], ["few", word("talk-few")]]),
    el("label", {}, word("pedal"), pedal),
    ...[awake].filter(Boolean),
    el("h3", {}, word("screens")),
    ...(name ? [el("label", {}, word("screen-name"), name)] : []),
    ...rows,
    el("p", { class: "small" }, word("keys-help")),
  );
}

settings.apply();
settings.watch(async (name) => {
  if (name === "language") {
    await load(settings.get("language"));
    now.forget();
    job.forget();
    fillSettings();
  }
  render();
});
acts.report(now.notice);
now.prepare({ isArmed: sound.isArmed, arm: start });
menu.prepare({ show, repeat });
keys.listen({
  answer: (origin) => now.answer()?.act(origin),
  back: now.takeBack,
  repeat,
  digit: (digit) => menu.enterValue(digit),
  isOpen: menu.isOpen,
  leave: () => (menu.isOpen() ? menu.leave() : show("now")),
});
$("arm").addEventListener("click", start);
$("answer").addEventListener("click", () => now.answer()?.act());
$("back").addEventListener("click", now.takeBack);
$("menu-open").addEventListener("click", () => (menu.isOpen() ? menu.leave() : menu.open()));
document.addEventListener("visibilitychange", stayAwake);
addEventListener("resize", render);

await load(settings.get("language"));
render();
listen(() => {
  if (link.state && link.alive) sound.hear(link.state);
  render();
});
// Ages grow, words for a good pull pass, and what is silent becomes old without anything being told.
setInterval(render, 250);
