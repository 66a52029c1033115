// What this screen remembers of its user: how far, how bright, how loud, which language.
const KEY = "clampbook";

const small = () => Math.min(screen.width, screen.height) < 560;

function guess() {
  // How many of a browser's pixels make a millimetre is not told: phones have about six, tablets five.
  const coarse = matchMedia("(pointer: coarse)").matches;
  const perMm = coarse ? (small() ? 6 : 5.2) : 3.78;
  const spoken = navigator.language.slice(0, 2);
  return {
    language: ["en", "de", "es", "fr"].includes(spoken) ? spoken : "en",
    distance: coarse ? 2.5 : 1,
    perMm,
    light: "auto",
    voice: "off",
    volume: 1,
    talk: "all",
    pedal: "",
  };
}

function read() {
  try {
    return { ...guess(), ...JSON.parse(localStorage.getItem(KEY) ?? "{}") };
  } catch {
    return guess();
  }
}

const settings = read();
const watchers = new Set();

export const get = (name) => settings[name];

export function set(name, value) {
  settings[name] = value;
  try {
    localStorage.setItem(KEY, JSON.stringify(settings));
  } catch {
    // A browser that keeps nothing still shows everything.
  }
  apply();
  for (const watcher of watchers) watcher(name);
}

export const watch = (watcher) => watchers.add(watcher);

/** Pixels of capital height that one minute of arc is, at the distance of the viewer. */
export const pixelsPerMinute = () =>
  settings.distance * 1000 * 2 * Math.tan(Math.PI / 180 / 120) * settings.perMm;

export function apply() {
  const root = document.documentElement;
  root.dataset.light = settings.light;
  root.style.setProperty("--mm", `${settings.perMm}px`);
  root.style.setProperty("--minute", `${pixelsPerMinute()}px`);
}
