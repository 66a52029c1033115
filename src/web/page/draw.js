// Drawings: the signs, a group of fasteners as the operator faces it, the window of a pull, a trace.
const SVG = "http://www.w3.org/2000/svg";

export function el(tag, attributes = {}, ...children) {
  return dress(document.createElement(tag), attributes, children);
}

export function svg(tag, attributes = {}, ...children) {
  return dress(document.createElementNS(SVG, tag), attributes, children);
}

function dress(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value === true ? "" : value);
  }
  node.append(...children.filter((child) => child !== null && child !== undefined));
  return node;
}

/** Outlines that differ in shape and weight, so that they hold without colour. */
const SIGNS = {
  // Let go: a full disc with a tick.
  reached: () => [
    svg("circle", { cx: 50, cy: 50, r: 46, class: "full" }),
    svg("path", { d: "M26 52 43 69 75 33", class: "cut" }),
  ],
  // Go on: two strokes upwards.
  more: () => [svg("path", { d: "M14 56 50 20 86 56M14 90 50 54 86 90", class: "stroke" })],
  // Stop: an octagon with a bar.
  over: () => [
    svg("path", { d: "M32 4H68L96 32V68L68 96H32L4 68V32Z", class: "full" }),
    svg("path", { d: "M24 50H76", class: "cut" }),
  ],
  // Look: a triangle.
  check: () => [
    svg("path", { d: "M50 10 94 88H6Z", class: "stroke" }),
    svg("path", { d: "M50 38V60", class: "stroke" }),
    svg("circle", { cx: 50, cy: 74, r: 5, class: "full" }),
  ],
  // A question that waits: a square with a notch, two bars in it.
  hold: () => [
    svg("path", { d: "M8 8H92V92H8Z", class: "stroke" }),
    svg("path", { d: "M36 30V70M64 30V70", class: "stroke" }),
  ],
  // What comes next: brackets around a dot.
  next: () => [
    svg("path", { d: "M30 8H8V92H30M70 8H92V92H70", class: "stroke" }),
    svg("circle", { cx: 50, cy: 50, r: 17, class: "full" }),
  ],
  // Nothing is heard: a broken ring.
  gone: () => [
    svg("circle", { cx: 50, cy: 50, r: 42, class: "stroke broken" }),
    svg("path", { d: "M24 76 76 24", class: "stroke" }),
  ],
  // Nothing is open: a ring with a tick.
  done: () => [
    svg("circle", { cx: 50, cy: 50, r: 42, class: "stroke" }),
    svg("path", { d: "M29 52 44 67 72 36", class: "stroke" }),
  ],
};

export function sign(kind) {
  const parts = (SIGNS[kind] ?? SIGNS.check)();
  return svg("svg", { viewBox: "0 0 100 100", class: `shape ${kind}`, "aria-hidden": "true" }, ...parts);
}

/** How a member stands: what is wrong with it comes first, then what is next. */
export function standing(member, isNext) {
  if (member.suspect) return "suspect";
  if (isNext) return "next";
  if (member.waits) return "waits";
  return member.ending === "open" ? "round" : member.ending;
}

/** A group as the operator faces it; of a ring, member 1 is on top and they go round clockwise. */
export function group(group, next, labels) {
  const count = group.members.length;
  const places = layout(group.pattern, count);
  const marks = group.members.map((member, index) => {
    const how = standing(member, member.name === next);
    return mark(how, index + 1, places[index]);
  });
  const said = group.members.map(
    (member, index) => `${index + 1} ${labels(standing(member, member.name === next))}`,
  );
  const { x, y, width, height } = places.view;
  const track = group.pattern === "ring"
    ? [svg("circle", { cx: 0, cy: 0, r: places.radius, class: "track" }), turn(places.radius)]
    : [];
  return svg(
    "svg",
    { viewBox: `${x} ${y} ${width} ${height}`, class: "group", role: "img", "aria-label": said.join(", ") },
    ...track,
    ...marks,
  );
}

function layout(pattern, count) {
  const places = [];
  if (pattern === "ring") {
    const radius = 66;
    const size = Math.min(26, (2 * Math.PI * radius) / count / 2.5);
    for (let index = 0; index < count; index += 1) {
      const turned = (index / count) * 2 * Math.PI;
      places.push({ x: radius * Math.sin(turned), y: -radius * Math.cos(turned), size });
    }
    places.radius = radius;
    places.view = { x: -104, y: -104, width: 208, height: 208 };
    return places;
  }
  const across = Math.min(count, 6);
  const down = Math.ceil(count / across);
  for (let index = 0; index < count; index += 1) {
    places.push({ x: (index % across) * 70, y: Math.floor(index / across) * 70, size: 26 });
  }
  places.view = { x: -40, y: -40, width: (across - 1) * 70 + 80, height: (down - 1) * 70 + 80 };
  return places;
}

/** Which way round: an open arrow within the ring. */
function turn(radius) {
  const r = radius * 0.42;
  return svg("path", {
    d: `M${-r} 0A${r} ${r} 0 0 1 ${r * 0.5} ${-r * 0.866}m-11 -4 11 4-4 11`,
    class: "turn",
  });
}

function mark(how, number, { x, y, size }) {
  const at = (value) => value.toFixed(1);
  const place = `translate(${at(x)} ${at(y)}) scale(${at(size / 26)})`;
  const shapes = {
    next: [
      svg("circle", { r: 22, class: "full" }),
      svg("path", { d: "M-20 -31H-31V-20M20 -31H31V-20M-20 31H-31V20M20 31H31V20", class: "stroke" }),
    ],
    suspect: [svg("path", { d: "M0 -28 28 22H-28Z", class: "full" })],
    waits: [svg("circle", { r: 22, class: "line" })],
    round: [svg("circle", { r: 22, class: "line" }), svg("path", { d: "M-12 31 -3 36 12 27", class: "stroke" })],
    shown: [svg("circle", { r: 24, class: "full" })],
    counted: [svg("circle", { r: 24, class: "line" }), svg("circle", { r: 18, class: "line" })],
    stated: [svg("path", { d: "M-22 -22H22V22H-22Z", class: "line" })],
  };
  const drop = how === "suspect" ? 16 : 9;
  return svg(
    "g",
    { class: `member ${how}`, transform: place },
    ...(shapes[how] ?? shapes.waits),
    svg("text", { y: drop, "text-anchor": "middle", "font-size": number > 9 ? 22 : 27 }, `${number}`),
  );
}

/** The window of a pull with the torque in it, both in N·m in the tightening direction. */
export function gauge(asked, nm, peak) {
  const most = (asked.high_nm ?? asked.target_nm * 1.15) * 1.18;
  const at = (value) => (Math.max(0, Math.min(value, most)) / most) * 1000;
  const low = at(asked.low_nm);
  const high = asked.high_nm === null ? 1000 : at(asked.high_nm);
  return svg(
    "svg",
    { viewBox: "0 0 1000 100", preserveAspectRatio: "none" },
    svg("rect", { x: 0, y: 38, width: 1000, height: 24, class: "track" }),
    svg("rect", { x: low, y: 14, width: high - low, height: 72, class: "window" }),
    svg("rect", { x: 0, y: 38, width: at(nm), height: 24, class: "fill" }),
    svg("path", { d: `M${low} 0V100M${high} 0V100`, class: "limit" }),
    svg("path", { d: `M${at(asked.target_nm)} 14V86`, class: "target" }),
    peak === null ? null : svg("path", { d: `M${at(peak)} 4V96`, class: "needle" }),
  );
}

/** A trace against the window that was asked for. */
export function trace(row, asked) {
  const known = row.nm.filter((nm) => nm !== null);
  const sign = Math.sign(known.reduce((a, b) => (Math.abs(a) > Math.abs(b) ? a : b), 0)) || 1;
  const most = Math.max(...known.map(Math.abs), asked?.high_nm ?? asked?.target_nm ?? 1) * 1.08;
  const width = 300;
  const height = 80;
  const y = (nm) => height - (Math.max(0, nm) / most) * height;
  let path = "";
  let pen = "M";
  row.nm.forEach((nm, index) => {
    if (nm === null) {
      pen = "M";
      return;
    }
    path += `${pen}${((index / Math.max(1, row.nm.length - 1)) * width).toFixed(1)} ${y(nm * sign).toFixed(1)}`;
    pen = "L";
  });
  const band = asked
    ? svg("rect", {
        x: 0,
        y: y(asked.high_nm ?? most),
        width,
        height: Math.max(1, y(asked.low_nm) - y(asked.high_nm ?? most)),
        class: "window",
      })
    : null;
  return svg(
    "svg",
    { viewBox: `0 0 ${width} ${height}`, class: "trace", preserveAspectRatio: "none", "aria-hidden": "true" },
    band,
    svg("path", { d: path, class: "curve" }),
  );
}
