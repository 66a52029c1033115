// The whole job as a list, each pull with its trace; and what there is to do when no job is under way.
import * as acts from "./acts.js";
import { el, group as drawGroup, sign, standing, trace } from "./draw.js";
import { link } from "./link.js";
import { ask } from "./menu.js";
import { get } from "./settings.js";
import { figure, groupOf, handling } from "./stage.js";
import { nameOf, plain, retold, titleOf, word } from "./words.js";

const node = () => document.getElementById("job");
let key = "";
let pulls = [];
let marks = [];
let photos = [];

/** The word for each kind of mark. */
const SAID = {
  at: "at", confirm: "confirmed", stated: "stated", opened: "opened", "also-opened": "opened", low: "low",
  spoiled: "spoiled", figure: "value", skip: "skip", retract: "taken-back", note: "note",
};

/** Draws it anew if something is different. */
export async function render(show) {
  const state = link.state;
  if (!state) return;
  const now = `${state.job} ${JSON.stringify(state.snapshot)} ${JSON.stringify(state.latest)}`;
  if (now === key && node().childElementCount) return;
  key = now;
  if (state.job) {
    pulls = (await acts.fetchJson(`/v1/jobs/${state.job}/pulls`)) ?? pulls;
    marks = (await acts.fetchJson(`/v1/jobs/${state.job}/marks`)) ?? marks;
    photos = (await acts.fetchJson(`/v1/jobs/${state.job}/photos`)) ?? photos;
    node().replaceChildren(...underWay(state, show));
  } else {
    const jobs = (await acts.fetchJson("/v1/jobs")) ?? [];
    node().replaceChildren(...atRest(jobs, show));
  }
}

export const forget = () => {
  key = "";
};

const back = (show) => el("button", { type: "button", class: "main", onclick: () => show("now") }, word("now"));

const report = (job) =>
  el("a", { class: "button", href: `/v1/jobs/${job}/report.html?language=${get("language")}` }, word("report"));

function underWay(state, show) {
  const snapshot = state.snapshot;
  const open = snapshot.open.length;
  const holds = snapshot.holds.map((hold) =>
    el("li", {}, sign(hold.confirmed ? "done" : "hold"), ` ${retold(state, hold.text)} `, el("b", {}, word(hold.confirmed ? "confirmed" : "waits"))),
  );
  const end = open === 0
    ? el("button", { type: "button", onclick: () => acts.close(null) }, word("close-job"))
    : el("button", { type: "button", onclick: () => ask("reason", acts.close) }, word("close-open"));
  return [
    el("div", { class: "row" }, back(show), report(state.job)),
    el("h2", {}, snapshot.plan),
    el("p", { class: open ? "open" : "" }, open ? `${word("open")}: ${open}` : word("nothing-open")),
    holds.length ? el("ul", { class: "holds" }, ...holds) : null,
    ...snapshot.groups.map((group) => part(state, group)),
    rest(state),
    warnings(state),
    said(state),
    pictures(),
    el("p", { class: "small" }, word("caution")),
    el("div", { class: "row" }, el("button", { type: "button", onclick: () => acts.park() }, word("park")), end),
  ].filter(Boolean);
}

function part(state, group) {
  const asked = group.asked ? `${group.asked.target} ${group.asked.unit} (${group.asked.limits})` : "";
  const passes = group.passes > 1 ? `${word("pass")} ${group.pass} ${word("of")} ${group.passes}` : "";
  const next = state.snapshot.next?.fastener ?? null;
  return el(
    "article",
    {},
    el("h3", {}, titleOf(group)),
    el("p", {}, [passes, asked, ...handling(group)].filter(Boolean).join(" · ")),
    drawGroup(group, next, (how) => word(how)),
    ...group.members.map((member) => row(state, group, member, next)),
  );
}

function row(state, group, member, next) {
  const how = standing(member, member.name === next);
  const own = pulls.filter((pull) => pull.verdict.fastener === member.name);
  return el(
    "div",
    { class: `member-row ${how}` },
    el("h4", {}, `${nameOf(state, member.name)} `, el("b", {}, word(how)), how === "counted" ? ` (${word("counted-help")})` : ""),
    ...own.map((pull) => pullOf(pull, group.asked)),
  );
}

function pullOf(pull, asked) {
  const { verdict } = pull;
  const [head, tail] = figure(verdict.peak, asked?.unit_nm ?? 1, true);
  const judged = { in: "reached", low: "more", high: "over" }[verdict.torque];
  const how = judged ? [sign(judged), word(judged)] : [];
  const typed = pull.typed ? ` · ${word("typed")}` : "";
  const pass = verdict.pass ? ` · ${word("pass")} ${verdict.pass}` : "";
  const sure = verdict.confidence < 0.8 ? ` · ${word("unsure")}` : "";
  return el(
    "div",
    { class: "pull" },
    el("p", {}, `${head}${tail} ${asked?.unit ?? "N·m"} `, ...how, `${pass}${typed}${sure}`),
    pull.trace ? trace(pull.trace, asked) : null,
  );
}

/** What was warned of, the newest first: a warning that was seen, or followed by another pull, can be found again. */
function warnings(state) {
  const known = state.snapshot.warnings;
  if (!known.length) return null;
  const line = (one) => el("li", {}, sign(one.code === "high-torque" ? "over" : "check"), ` ${retold(state, one.text)}`);
  return el("article", { class: "warnings" }, el("h3", {}, word("warnings")), el("ul", { class: "holds" }, ...known.toReversed().map(line)));
}

/** Pulls that are on nothing in the plan. */
function rest(state) {
  const others = pulls.filter((pull) => !pull.verdict.fastener);
  if (!others.length) return null;
  const asked = (pull) => (pull.verdict.step ? groupOf(state, `${pull.verdict.step}/1`)?.asked : null);
  return el("article", {}, el("h3", {}, word("not-in-plan")), ...others.map((pull) => pullOf(pull, asked(pull) ?? null)));
}

/** The photos of the job, the newest first. */
function pictures() {
  if (!photos.length) return null;
  const picture = (one) =>
    el(
      "figure",
      {},
      one.erased ? word("photo-erased") : el("img", { src: `/v1/photos/${one.entry}`, alt: plain(one.photo.about), loading: "lazy" }),
      el("figcaption", {}, plain(one.photo.about) + (one.by ? ` (${one.by})` : "")),
    );
  return el("article", { class: "photos" }, el("h3", {}, word("photos")), ...photos.toReversed().map(picture));
}

/** What the operator said, the newest first, and on which screen. */
function said(state) {
  if (!marks.length) return null;
  const about = (one) => {
    const name = one.fastener ? nameOf(state, one.fastener) : plain(one.hold ?? one.name ?? one.of ?? "");
    return [name, one.value, one.text, one.reason].filter(Boolean).join(" · ");
  };
  const time = (at) => new Date(at / 1000).toLocaleTimeString(get("language"), { hour: "2-digit", minute: "2-digit" });
  const line = (mark) =>
    el(
      "li",
      {},
      `${time(mark.at)} `,
      el("b", {}, word(SAID[mark.said.say] ?? mark.said.say)),
      [" ", about(mark.said), mark.by ? ` (${mark.by})` : ""].join(""),
    );
  return el("article", { class: "said" }, el("h3", {}, word("said")), el("ul", {}, ...marks.toReversed().map(line)));
}

function atRest(jobs, show) {
  const parked = jobs.filter((job) => job.parked);
  const closed = jobs.filter((job) => job.closed).reverse().slice(0, 12);
  const name = (job) => `${job.job}: ${job.plan ?? "?"}`;
  return [
    el("div", { class: "row" }, back(show)),
    el("h2", {}, word("no-job")),
    el("p", {}, word("no-job-help")),
    ...parked.map((job) =>
      el(
        "button",
        {
          type: "button",
          onclick: async () => {
            if (await acts.resume(job.job)) show("now");
          },
        },
        `${word("resume")} ${name(job)}`,
      ),
    ),
    ...closed.map((job) =>
      el(
        "p",
        {},
        [name(job), word(job.complete ? "nothing-open" : "open"), ...job.said_by].join(" · "),
        " ",
        report(job.job),
      ),
    ),
  ];
}
