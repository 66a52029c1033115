// The threshold: sends the key behind the # and goes on to the page.
import { get } from "./settings.js";
import { load, word } from "./words.js";

const form = document.getElementById("key-form");
const input = document.getElementById("key");
const called = document.getElementById("name");
const refused = document.getElementById("refused");

async function enter(key) {
  refused.textContent = "";
  try {
    const answer = await fetch("/v1/sessions", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ key, name: called.value.trim() || null }),
    });
    if (answer.ok) {
      location.replace("/");
      return;
    }
    const problem = await answer.json();
    refused.textContent = `${problem.title}: ${problem.detail}`;
  } catch {
    refused.textContent = word("enter-silent");
  }
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  enter(input.value.trim());
});

await load(get("language"));
for (const node of document.querySelectorAll("[data-word]")) node.textContent = word(node.dataset.word);

const key = decodeURIComponent(location.hash.slice(1));
// The key shall not stay in the address, where it would be shared or kept.
history.replaceState(null, "", location.pathname);
if (key) enter(key);
