// Answers without hands: a keyboard, a page turner, a pedal that poses as one. What the pedal says that the screen was
// taught is kept as the pedal's.
import { get } from "./settings.js";

const ANSWER = ["Enter", " ", "PageDown", "ArrowRight", "ArrowDown", "AudioVolumeUp"];
const BACK = ["Backspace", "PageUp", "ArrowLeft", "Delete"];
const REPEAT = ["r", "R", "ArrowUp"];

/** A pedal that is held down or bounces means one answer. */
const AGAIN_MS = 350;

export function listen(acts) {
  let last = { key: "", at: -Infinity };
  document.addEventListener("keydown", (event) => {
    const inField = event.target.closest?.("input, textarea, select");
    if (event.key === "Escape") {
      acts.leave();
      return;
    }
    if (inField || event.ctrlKey || event.metaKey || event.altKey) return;
    const onButton = event.target.closest?.("button") && ["Enter", " "].includes(event.key);
    if (onButton || document.body.dataset.view !== "now" || acts.isOpen()) return;
    const act =
      event.key === get("pedal")
        ? () => acts.answer("pedal")
        : ANSWER.includes(event.key)
          ? () => acts.answer()
          : BACK.includes(event.key)
            ? acts.back
            : REPEAT.includes(event.key)
              ? acts.repeat
              : /^[0-9]$/.test(event.key)
                ? () => acts.digit(event.key)
                : null;
    if (!act) return;
    event.preventDefault();
    const now = performance.now();
    if (event.repeat || (event.key === last.key && now - last.at < AGAIN_MS)) return;
    last = { key: event.key, at: now };
    act();
  });
}
