/* The moving plot of a point's page: zoom, move, read off. No library and no network. Where scripts
   are off or anything here fails, the still pictures of the page stay as they are. */
(function () {
"use strict";

/* ---- unfolding what packing.py folded ---- */

// Inflates raw deflate (RFC 1951); bits come lowest first, Huffman codes highest first.
function inflate(src) {
  let at = 0, held = 0, count = 0, out = new Uint8Array(4 * src.length + 64), size = 0;
  function bits(n) {
    while (count < n) { held |= src[at++] << count; count += 8; }
    const value = held & ((1 << n) - 1);
    held >>>= n; count -= n;
    return value;
  }
  function put(byte) {
    if (size === out.length) { const more = new Uint8Array(2 * size); more.set(out); out = more; }
    out[size++] = byte;
  }
  function table(lengths) {
    const number = new Uint16Array(16), place = new Uint16Array(16), symbol = [];
    for (const n of lengths) number[n]++;
    number[0] = 0;
    for (let n = 1; n < 15; n++) place[n + 1] = place[n] + number[n];
    lengths.forEach(function (n, k) { if (n) symbol[place[n]++] = k; });
    return { number: number, symbol: symbol };
  }
  function next(codes) {
    let code = 0, first = 0, index = 0;
    for (let n = 1; n < 16; n++) {
      code |= bits(1);
      const here = codes.number[n];
      if (code - here < first) return codes.symbol[index + code - first];
      index += here; first = (first + here) << 1; code <<= 1;
    }
    throw new Error("the packed series is damaged");
  }
  const LENGTH = [3,4,5,6,7,8,9,10,11,13,15,17,19,23,27,31,35,43,51,59,67,83,99,115,131,163,195,227,258];
  const MORE = [0,0,0,0,0,0,0,0,1,1,1,1,2,2,2,2,3,3,3,3,4,4,4,4,5,5,5,5,0];
  const BACK = [1,2,3,4,5,7,9,13,17,25,33,49,65,97,129,193,257,385,513,769,1025,1537,2049,3073,4097,6145,8193,12289,16385,24577];
  const FURTHER = [0,0,0,0,1,1,2,2,3,3,4,4,5,5,6,6,7,7,8,8,9,9,10,10,11,11,12,12,13,13];
  const ORDER = [16,17,18,0,8,7,9,6,10,5,11,4,12,3,13,2,14,1,15];
  function codesOf(kind) {
    if (kind === 1) {
      const fixed = [];
      for (let k = 0; k < 288; k++) fixed.push(k < 144 ? 8 : k < 256 ? 9 : k < 280 ? 7 : 8);
      return [table(fixed), table(new Array(30).fill(5))];
    }
    const literals = bits(5) + 257, distances = bits(5) + 1, given = bits(4) + 4;
    const short = new Array(19).fill(0), all = [];
    for (let k = 0; k < given; k++) short[ORDER[k]] = bits(3);
    const codes = table(short);
    while (all.length < literals + distances) {
      const k = next(codes);
      if (k < 16) { all.push(k); continue; }
      const value = k === 16 ? all[all.length - 1] : 0;
      let times = k === 16 ? 3 + bits(2) : k === 17 ? 3 + bits(3) : 11 + bits(7);
      while (times--) all.push(value);
    }
    return [table(all.slice(0, literals)), table(all.slice(literals))];
  }
  let last = 0;
  while (!last) {
    last = bits(1);
    const kind = bits(2);
    if (kind === 0) {
      held = 0; count = 0;
      let left = src[at] | (src[at + 1] << 8);
      at += 4;
      while (left--) put(src[at++]);
      continue;
    }
    const codes = codesOf(kind);
    for (let k = next(codes[0]); k !== 256; k = next(codes[0])) {
      if (k < 256) { put(k); continue; }
      let length = LENGTH[k - 257] + bits(MORE[k - 257]);
      const d = next(codes[1]), back = BACK[d] + bits(FURTHER[d]);
      while (length--) put(out[size - back]);
    }
  }
  return out.subarray(0, size);
}

// A packed series as numbers; NaN where there is none.
function unpack(words, step) {
  const text = atob(words), raw = new Uint8Array(text.length);
  for (let k = 0; k < text.length; k++) raw[k] = text.charCodeAt(k);
  const bytes = inflate(raw), out = [], parts = Math.round(1 / step);
  let code = 0, weight = 1, sum = 0;
  for (const byte of bytes) {
    code += (byte & 127) * weight;
    if (byte & 128) { weight *= 128; continue; }
    if (code === 0) out.push(NaN);
    else {
      sum += code % 2 ? (code - 1) / 2 : -code / 2;
      out.push(step < 1 ? sum / parts : sum * step);
    }
    code = 0; weight = 1;
  }
  return Float64Array.from(out);
}

/* ---- plain sums ---- */

// The lowest and highest value in each of `count` equal parts of a span, with their places.
function envelope(times, values, span, count) {
  const columns = [], width = (span.to - span.from) / count;
  let column = null;
  for (let k = span.first; k < span.last; k++) {
    if (!(values[k] === values[k])) continue;
    const place = Math.min(Math.floor((times[k] - span.from) / width), count - 1);
    if (!column || column.place !== place) {
      column = { place: place, low: k, high: k, first: k, last: k };
      columns.push(column);
    }
    if (values[k] < values[column.low]) column.low = k;
    if (values[k] > values[column.high]) column.high = k;
    column.last = k;
  }
  return columns;
}

// The first place at which a rising row is not under a value.
function search(row, value) {
  let low = 0, high = row.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (row[middle] < value) low = middle + 1; else high = middle;
  }
  return low;
}

function roundSteps(low, high, most) {
  const rough = (high - low) / most, power = Math.pow(10, Math.floor(Math.log10(rough)));
  const step = power * [1, 2, 5, 10].find(function (m) { return power * m >= rough; });
  const out = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * step; k++) out.push(k * step);
  return out;
}

/* ---- the page ---- */

const root = document.getElementById("live"), store = document.getElementById("live-data");
if (!root || !store) return;
const data = JSON.parse(store.textContent);
const canvas = root.querySelector("canvas"), pen = canvas.getContext("2d");
const reading = root.querySelector(".reading"), said = root.querySelector(".said");

const INK = "#15202b", SOFT = "#4c5a66", GRID = "#e6eaed", FRAME = "#7d8a95", PAPER = "#ffffff";
const BLUE = "#0072b2", GREEN = "#006b50", RED = "#7a1420", AMBER = "#8a4b00";
const FONT = getComputedStyle(document.body).fontFamily;
const SECOND_STEPS = [60, 120, 300, 600, 1200, 1800, 3600, 7200, 10800, 21600, 43200, 86400, 172800,
  345600, 604800, 1209600, 2419200, 4838400, 9676800, 15724800];
const DASHES = [[9, 4], [3, 3], [1, 3]]; // of the first level to come, the next, all others
const LEAST = 600; // the shortest span to show [s]
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const STATUS = { over_range: "over range", under_range: "under range", fault: "fault", test: "test",
  not_sampled: "not sampled" };

const times = unpack(data.time, 1);
let clockNow = data.start;
for (let k = 0; k < times.length; k++) { clockNow += times[k]; times[k] = clockNow; }
for (const gas of data.gases) {
  gas.values = unpack(gas.value, gas.step);
  gas.states = new Array(times.length).fill("");
  for (const run of gas.status) gas.states.fill(run[2], run[0], run[0] + run[1]);
  gas.shown = gas.values.map(function (v, k) { return /fault|test|not_sampled/.test(gas.states[k]) ? NaN : v; });
  const inOrder = gas.shown.filter(function (v) { return v === v; }).sort();
  gas.middle = inOrder[inOrder.length >> 1] || 0;
  gas.levels = gas.limits.slice().sort(function (a, b) { return a[4] ? b[1] - a[1] : a[1] - b[1]; })
    .map(function (l) { return l[0]; }).filter(function (name, k, all) { return all.indexOf(name) === k; });
  gas.past = new Uint8Array(times.length); // at or past a setpoint in force
  for (const limit of gas.limits) {
    const last = search(times, limit[3] + 1);
    for (let k = search(times, limit[2]); k < last; k++)
      if (limit[4] ? gas.shown[k] <= limit[1] : gas.shown[k] >= limit[1]) gas.past[k] = 1;
  }
}
for (const one of data.line) one.values = unpack(one.value, one.step);
const health = data.line.find(function (one) { return one.label === "line health"; });
const alarmStarts = data.alarms.map(function (a) { return a[0]; }).sort(function (a, b) { return a - b; });

const pad = Math.max((data.window[1] - data.window[0]) * 0.005, 60);
const WHOLE = { from: data.window[0] - pad, to: Math.max(data.window[1] + pad, data.window[0] + LEAST) };
const view = { from: WHOLE.from, to: WHOLE.to };
const shows = { alarms: true, work: true, line: true, limits: true };
let wholeColumns = null; // of the strip at the foot, which does not change but in width
let cursor = -1, width = 0, left = 60, right = 14, strips = [], box = null, queued = false;

/* ---- time in words ---- */

function ahead(second) {
  let minutes = data.clock[0][1];
  for (const step of data.clock) if (step[0] <= second) minutes = step[1];
  return minutes * 60;
}
function two(n) { return String(n).padStart(2, "0"); }
function day(second) {
  const d = new Date(second * 1000);
  return d.getUTCFullYear() + "-" + two(d.getUTCMonth() + 1) + "-" + two(d.getUTCDate());
}
function minute(second) {
  const d = new Date(second * 1000);
  return two(d.getUTCHours()) + ":" + two(d.getUTCMinutes());
}
function ship(second) { const s = second + ahead(second); return day(s) + " " + minute(s); }
function utc(second) {
  const same = day(second) === day(second + ahead(second));
  return (same ? "" : day(second).slice(5) + " ") + minute(second) + " UTC";
}
function shortDay(second) {
  const d = new Date(second * 1000);
  return d.getUTCDate() + " " + MONTHS[d.getUTCMonth()];
}
function length(seconds) {
  if (seconds < 5400) return Math.round(seconds / 60) + " min";
  if (seconds < 172800) return (seconds / 3600).toFixed(1).replace(/\.0$/, "") + " h";
  return (seconds / 86400).toFixed(1).replace(/\.0$/, "") + " days";
}
function number(value, step) {
  const places = step >= 1 ? 0 : step >= 0.1 ? 1 : step >= 0.01 ? 2 : 3;
  return value.toFixed(places).replace("-", "−");
}

/* ---- places on the canvas ---- */

function x(second) { return left + (second - view.from) / (view.to - view.from) * (width - left - right); }
function secondAt(px) { return view.from + (px - left) / (width - left - right) * (view.to - view.from); }
function span() {
  const first = Math.max(search(times, view.from) - 1, 0);
  return { from: view.from, to: view.to, first: first, last: Math.min(search(times, view.to) + 1, times.length) };
}
function inside() {
  return { from: view.from, to: view.to, first: search(times, view.from), last: search(times, view.to + 1) };
}
// Single visits are drawn while each has room of its own.
function single() { const s = inside(); return s.last - s.first <= (width - left - right) / 3; }

function rowsOf(list, at) {
  const out = [];
  for (const one of list) if (out.indexOf(one[at]) < 0) out.push(one[at]);
  return out;
}
const alarmRows = rowsOf(data.alarms, 2).sort(function (a, b) {
  return (a === "faults") - (b === "faults") || (a < b ? -1 : 1);
});
if (data.unwatched.length) alarmRows.push("unwatched");
const workRows = ["cargo", "ballast", "ventilation", "line", "calibration", "system"].filter(function (row) {
  return data.work.some(function (w) { return w[2] === row; }) || data.acts.some(function (a) { return a[1] === row; });
});

function layout() {
  const phone = width < 560, row = 19, list = [];
  let y = 8;
  function add(kind, height, more) {
    list.push(Object.assign({ kind: kind, top: y, height: height }, more));
    y += height + 12;
  }
  pen.font = "12px " + FONT;
  left = 46;
  const names = (shows.alarms ? alarmRows : []).concat(shows.work ? workRows : []);
  for (const name of names) left = Math.max(left, pen.measureText(name).width + 10);
  left = Math.min(left, phone ? 92 : 130);
  for (const gas of data.gases) add("gas", phone ? 130 : 165, { gas: gas });
  if (shows.line && health) add("line", phone ? 74 : 90, {});
  if (shows.alarms && alarmRows.length) add("alarms", row * alarmRows.length, { rows: alarmRows, row: row });
  if (shows.work && workRows.length) add("work", row * workRows.length, { rows: workRows, row: row });
  const axis = y - 4;
  y += 40;
  list.push({ kind: "whole", top: y, height: 30 });
  strips = list;
  strips.axis = axis;
  strips.height = y + 30 + 20;
}

/* ---- drawing ---- */

function words(text, px, py, align, colour, paper) {
  pen.textAlign = align || "left";
  pen.textBaseline = "middle";
  if (paper) {
    const size = pen.measureText(text).width, from = align === "right" ? px - size : align === "center" ? px - size / 2 : px;
    pen.fillStyle = paper; pen.fillRect(from - 2, py - 7, size + 4, 14);
  }
  pen.fillStyle = colour || INK;
  pen.fillText(text, px, py);
}
function stroke(colour, size, dashes) {
  pen.strokeStyle = colour; pen.lineWidth = size; pen.setLineDash(dashes || []);
  pen.stroke(); pen.setLineDash([]);
}
function level(px1, px2, py) { pen.beginPath(); pen.moveTo(px1, Math.round(py) + 0.5); pen.lineTo(px2, Math.round(py) + 0.5); }
function upright(px, top, bottom) { pen.beginPath(); pen.moveTo(Math.round(px) + 0.5, top); pen.lineTo(Math.round(px) + 0.5, bottom); }

function clip(strip, draw) {
  pen.save(); pen.beginPath();
  pen.rect(left, strip.top - 4, width - left - right, strip.height + 8);
  pen.clip(); draw(); pen.restore();
}

function draw() {
  queued = false;
  const ratio = window.devicePixelRatio || 1;
  width = canvas.parentNode.clientWidth;
  layout();
  if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(strips.height * ratio)) {
    canvas.width = Math.round(width * ratio); canvas.height = Math.round(strips.height * ratio);
    canvas.style.height = strips.height + "px";
  }
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.fillStyle = PAPER; pen.fillRect(0, 0, width, strips.height);
  pen.font = "12px " + FONT;
  const ticks = timeTicks();
  for (const strip of strips) {
    if (strip.kind === "whole") { drawWhole(strip); continue; }
    for (const tick of ticks) { upright(x(tick), strip.top, strip.top + strip.height); stroke(GRID, 1); }
    if (strip.kind === "gas") drawGas(strip);
    else if (strip.kind === "line") drawLine(strip);
    else drawRows(strip);
    level(left, width - right, strip.top + strip.height); stroke(FRAME, 1);
    upright(left, strip.top, strip.top + strip.height); stroke(FRAME, 1);
  }
  drawTicks(ticks);
  drawCursor();
  if (box) {
    pen.fillStyle = "rgba(0,114,178,0.15)";
    pen.fillRect(Math.min(box.a, box.b), strips[0].top, Math.abs(box.b - box.a), strips.axis - strips[0].top);
    upright(box.a, strips[0].top, strips.axis); stroke(BLUE, 1);
    upright(box.b, strips[0].top, strips.axis); stroke(BLUE, 1);
  }
  const there = inside();
  root.dataset.from = view.from; root.dataset.to = view.to;
  root.dataset.visits = there.last - there.first;
  root.dataset.drawn = single() ? "visits" : "envelope";
  root.querySelector(".shown").textContent = ship(view.from) + " (" + utc(view.from) + ") to " +
    ship(view.to) + " (" + utc(view.to) + "), " + length(view.to - view.from) + ", " +
    (there.last - there.first) + " visits" + (single() ? ", each drawn" : ", drawn as lowest and highest");
}
function redraw() { if (!queued) { queued = true; requestAnimationFrame(draw); } }

function timeTicks() {
  const room = width < 560 ? 92 : 108, most = Math.max((width - left - right) / room, 2);
  const step = SECOND_STEPS.find(function (s) { return (view.to - view.from) / s <= most; }) || 31536000;
  const shift = ahead(view.from), out = [];
  for (let s = Math.ceil((view.from + shift) / step) * step - shift; s <= view.to; s += step) out.push(s);
  out.step = step;
  return out;
}
function drawTicks(ticks) {
  const plain = data.clock.length === 1 && data.clock[0][1] === 0, years = view.to - view.from > 200 * 86400;
  for (const tick of ticks) {
    const s = tick + ahead(tick);
    const half = ticks.step >= 86400 && !plain ? 46 : 34; // of the label; the last is held inside
    const px = Math.min(x(tick), width - half);
    const date = shortDay(s) + (years ? " " + new Date(s * 1000).getUTCFullYear() : "");
    const upper = ticks.step >= 86400 ? date : (minute(s) === "00:00" || tick === ticks[0] ? shortDay(s) + " " : "") + minute(s);
    words(upper + (plain ? " UTC" : ""), px, strips.axis + 8, "center", INK);
    if (!plain) {
      pen.font = (width < 560 ? "10px " : "11px ") + FONT;
      words((ticks.step >= 86400 ? shortDay(tick) + " " : "") + minute(tick) + " UTC", px, strips.axis + 23, "center", SOFT);
      pen.font = "12px " + FONT;
    }
  }
}

function scale(strip, low, high, ticks) {
  strip.y = function (v) {
    return strip.top + strip.height - (Math.min(Math.max(v, low), high) - low) / (high - low) * strip.height;
  };
  for (const tick of ticks) {
    level(left, width - right, strip.y(tick)); stroke(GRID, 1);
    words(String(+tick.toPrecision(6)).replace("-", "−"), left - 6, strip.y(tick), "right", SOFT);
  }
}

function drawGas(strip) {
  const gas = strip.gas, s = span(), seen = inside();
  let low = Infinity, high = -Infinity;
  for (let k = seen.first; k < seen.last; k++) {
    const v = gas.shown[k];
    if (v < low) low = v;
    if (v > high) high = v;
  }
  if (low > high) { low = 0; high = 1; }
  const limits = gas.limits.filter(function (l) { return l[3] >= view.from && l[2] <= view.to; });
  if (shows.limits) for (const l of limits) { low = Math.min(low, l[1]); high = Math.max(high, l[1]); }
  if (!(low > 10)) low = Math.min(low, 0);
  const room = 0.08 * ((high - low) || 1);
  low -= room; high += 2.2 * room;
  scale(strip, low, high, roundSteps(low, high, 5));
  strip.names = [];
  clip(strip, function () {
    if (shows.alarms) shade(strip, gas);
    // Names first: nothing that is written may cover a visit.
    limits.forEach(function (l) { drawLimit(strip, gas, l, low, high); });
    curve(strip, gas.shown, s, BLUE, 1.3);
    marks(strip, gas, s);
  });
  pen.font = "600 13px " + FONT;
  words(gas.gas + ", " + gas.unit, left + 6, strip.top + 7, "left", INK, "rgba(255,255,255,0.85)");
  pen.font = "12px " + FONT;
}
function shade(strip, gas) {
  for (const grave of [0, 1]) for (const a of data.alarms) {
    if (a[4] !== grave || a[2].indexOf(gas.gas + " ") !== 0 || a[1] < view.from || a[0] > view.to) continue;
    pen.fillStyle = grave ? "#f6dcd8" : "#eef1d9";
    pen.fillRect(x(a[0]), strip.top, Math.max(x(a[1]) - x(a[0]), 1.5), strip.height);
  }
}
function curve(strip, values, s, colour, size, dashes) {
  const plot = width - left - right;
  pen.beginPath();
  let before = -1;
  if (s.last - s.first <= 1.5 * plot) {
    for (let k = s.first; k < s.last; k++) {
      if (!(values[k] === values[k])) continue;
      if (before < 0 || times[k] - times[before] > data.gap) pen.moveTo(x(times[k]), strip.y(values[k]));
      else pen.lineTo(x(times[k]), strip.y(values[k]));
      before = k;
    }
  } else {
    for (const c of envelope(times, values, s, Math.round(plot))) {
      const px = left + (c.place + 0.5) * plot / Math.round(plot);
      if (before < 0 || times[c.first] - times[before] > data.gap) pen.moveTo(px, strip.y(values[c.first]));
      else pen.lineTo(px, strip.y(values[c.first]));
      pen.lineTo(px, strip.y(values[c.low])); pen.lineTo(px, strip.y(values[c.high]));
      pen.lineTo(px, strip.y(values[c.last]));
      before = c.last;
    }
  }
  pen.lineJoin = "round";
  stroke(colour, size, dashes);
  if (!single()) return;
  pen.fillStyle = colour;
  for (let k = s.first; k < s.last; k++) if (values[k] === values[k]) {
    pen.beginPath(); pen.arc(x(times[k]), strip.y(values[k]), 2.4, 0, 7); pen.fill();
  }
}
// A setpoint with its name, where no other name stands.
function drawLimit(strip, gas, l, low, high) {
  const from = Math.max(x(l[2]), left), to = Math.min(x(l[3]), width - right), name = l[0] + " " + (+l[1].toPrecision(6));
  const size = pen.measureText(name).width, beyond = l[1] > high || l[1] < low;
  let places;
  if (beyond) {
    const py = l[1] > high ? strip.top + 7 : strip.top + strip.height - 8;
    places = [0, 1, 2].map(function (k) { return [width - right - 4 - k * 90, py]; });
  } else {
    level(from, to, strip.y(l[1])); stroke(RED, 1.4, DASHES[Math.min(gas.levels.indexOf(l[0]), 2)]);
    if (to - from < size + 12) return;
    const above = strip.y(l[1]) - 8, under = strip.y(l[1]) + 9;
    places = [[to - 4, above], [to - 4, under], [from + size + 6, above], [from + size + 6, under]];
  }
  for (const at of places) {
    const taken = strip.names.some(function (n) { return Math.abs(n[1] - at[1]) < 14 && Math.abs(n[0] - at[0]) < size + 10; });
    if (taken) continue;
    words(name + (beyond ? (l[1] > high ? " ↑" : " ↓") : ""), at[0], at[1], "right", RED, "rgba(255,255,255,0.8)");
    strip.names.push(at);
    return;
  }
}
// Visits past a setpoint as squares, over range as triangles, faults and tests as crosses.
function marks(strip, gas, s) {
  const few = single(), half = few ? 3.4 : 2.2, past = new Map(), over = new Set(), odd = new Set();
  for (let k = s.first; k < s.last; k++) {
    const state = gas.states[k], column = few ? k : Math.round(x(times[k]) / 2), best = past.get(column);
    if (gas.past[k] && (best === undefined || Math.abs(gas.shown[k] - gas.middle) > Math.abs(gas.shown[best] - gas.middle)))
      past.set(column, k);
    if (state === "over_range") over.add(Math.round(x(times[k]) / 3) * 3);
    else if (state === "fault" || state === "test") odd.add(Math.round(x(times[k]) / 3) * 3);
  }
  past.forEach(function (k) {
    pen.fillStyle = RED;
    pen.fillRect(x(times[k]) - half, strip.y(gas.shown[k]) - half, 2 * half, 2 * half);
  });
  over.forEach(function (px) {
    const py = strip.top + 3;
    pen.fillStyle = RED; pen.beginPath(); pen.moveTo(px, py - 5); pen.lineTo(px + 5, py + 4); pen.lineTo(px - 5, py + 4); pen.fill();
  });
  odd.forEach(function (px) {
    const py = strip.top + 24;
    pen.beginPath(); pen.moveTo(px - 3, py - 3); pen.lineTo(px + 3, py + 3); pen.moveTo(px + 3, py - 3); pen.lineTo(px - 3, py + 3);
    stroke(SOFT, 1.4);
  });
}

function drawLine(strip) {
  scale(strip, 0, 1.7, [0, 0.5, 1]);
  clip(strip, function () {
    level(left, width - right, strip.y(0.5)); stroke(RED, 1.2, [2, 3]);
    curve(strip, health.values, span(), GREEN, 1.2);
  });
  pen.font = "600 13px " + FONT;
  words("line health", left + 6, strip.top + 5, "left", INK, "rgba(255,255,255,0.85)");
  const size = pen.measureText("line health").width;
  pen.font = "12px " + FONT;
  words(width < 560 ? "dotted: 2× resistance" : "dotted: twice the clean resistance", left + 18 + size, strip.top + 5, "left", RED, "rgba(255,255,255,0.85)");
}

function drawRows(strip) {
  strip.rows.forEach(function (name, k) {
    words(name, left - 6, strip.top + (k + 0.5) * strip.row, "right", SOFT);
  });
  clip(strip, function () {
    function bar(from, to, row, least) {
      const px = x(from), end = Math.max(x(to), px + least);
      return { px: Math.max(px, left - 4), end: Math.min(end, width), py: strip.top + row * strip.row + 2, high: strip.row - 4 };
    }
    function label(b, text, colour, paper) {
      const room = Math.min(b.end, width - right) - Math.max(b.px, left);
      if (pen.measureText(text).width + 6 <= room)
        words(text, Math.max(b.px, left) + room / 2, b.py + b.high / 2 + 0.5, "center", colour, paper);
    }
    if (strip.kind === "alarms") {
      const gaps = strip.rows.indexOf("unwatched");
      for (const g of data.unwatched) {
        if (g[1] < view.from || g[0] > view.to) continue;
        const b = bar(g[0], g[1], gaps, 2);
        hatch(b, g[3]);
        label(b, g[2], INK, "rgba(255,255,255,0.9)");
      }
      for (const grave of [0, 1]) for (const a of data.alarms) {
        if (a[4] !== grave || a[1] < view.from || a[0] > view.to) continue;
        const b = bar(a[0], a[1], strip.rows.indexOf(a[2]), 3), look = data.causes[a[3]];
        pen.fillStyle = look[2]; pen.fillRect(b.px, b.py, b.end - b.px, b.high);
        pen.strokeStyle = grave ? INK : FRAME; pen.lineWidth = grave ? 1.8 : 0.8;
        pen.strokeRect(b.px + 0.5, b.py + 0.5, Math.max(b.end - b.px - 1, 1), b.high - 1);
        pen.font = "600 11px " + FONT;
        if (pen.measureText(look[0]).width + 8 <= b.end - b.px) label(b, look[0], look[3]);
        else label(b, look[1], look[3]);
        pen.font = "12px " + FONT;
      }
      return;
    }
    for (const w of data.work) {
      if (w[1] < view.from || w[0] > view.to) continue;
      const b = bar(w[0], w[1], strip.rows.indexOf(w[2]), 2);
      pen.fillStyle = "#cfdde6"; pen.fillRect(b.px, b.py, b.end - b.px, b.high);
      pen.strokeStyle = "#6f8494"; pen.lineWidth = 1; pen.strokeRect(b.px + 0.5, b.py + 0.5, Math.max(b.end - b.px - 1, 1), b.high - 1);
      label(b, w[3], INK);
    }
    const next = {}; // where the act after it in its row stands: a name needs the room before that
    for (let k = data.acts.length - 1; k >= 0; k--) {
      const a = data.acts[k];
      if (a[0] < view.from || a[0] > view.to) continue;
      const px = x(a[0]), py = strip.top + (strip.rows.indexOf(a[1]) + 0.5) * strip.row;
      pen.fillStyle = AMBER; pen.beginPath();
      pen.moveTo(px, py - 5); pen.lineTo(px + 4, py); pen.lineTo(px, py + 5); pen.lineTo(px - 4, py); pen.fill();
      if (px + 7 + pen.measureText(a[2]).width < (next[a[1]] || width - right) - 7)
        words(a[2], px + 7, py, "left", INK, "rgba(255,255,255,0.8)");
      next[a[1]] = px;
    }
  });
}
function hatch(b, group) {
  pen.fillStyle = group === "no_log" ? PAPER : "#e3e8ec";
  pen.fillRect(b.px, b.py, b.end - b.px, b.high);
  pen.save(); pen.beginPath(); pen.rect(b.px, b.py, b.end - b.px, b.high); pen.clip();
  pen.beginPath();
  const start = Math.max(b.px, left), end = Math.min(b.end, width);
  for (let px = start - b.high; px < end; px += 6) {
    if (group === "off" || group === "line") { pen.moveTo(px, b.py + b.high); pen.lineTo(px + b.high, b.py); }
    if (group === "line") { pen.moveTo(px, b.py); pen.lineTo(px + b.high, b.py + b.high); }
    if (group === "idle") { pen.moveTo(px + 0.5, b.py); pen.lineTo(px + 0.5, b.py + b.high); }
  }
  if (group === "no_log") for (let py = b.py + 3; py < b.py + b.high; py += 4) { pen.moveTo(start, py); pen.lineTo(end, py); }
  stroke(SOFT, 0.8); pen.restore();
  pen.strokeStyle = SOFT; pen.lineWidth = 1; pen.strokeRect(b.px + 0.5, b.py + 0.5, Math.max(b.end - b.px - 1, 1), b.high - 1);
}

// The whole period in small, with the part that is shown above.
function drawWhole(strip) {
  const gas = data.gases[0], plot = width - left - right;
  const all = { from: WHOLE.from, to: WHOLE.to, first: 0, last: times.length };
  function px(second) { return left + (second - WHOLE.from) / (WHOLE.to - WHOLE.from) * plot; }
  pen.fillStyle = "#f4f6f8"; pen.fillRect(left, strip.top, plot, strip.height);
  for (const a of data.alarms) if (a[4]) {
    pen.fillStyle = "#f0c9c3"; pen.fillRect(px(a[0]), strip.top, Math.max(px(a[1]) - px(a[0]), 2), strip.height);
  }
  if (gas) {
    let high = 1;
    for (const v of gas.shown) if (v > high) high = v;
    pen.beginPath();
    if (!wholeColumns || wholeColumns.plot !== plot) {
      wholeColumns = envelope(times, gas.shown, all, Math.round(plot));
      wholeColumns.plot = plot;
    }
    for (const c of wholeColumns) {
      const at = left + (c.place + 0.5) * plot / Math.round(plot), bottom = strip.top + strip.height - 2;
      const top = bottom - Math.max(gas.shown[c.high], 0) / high * (strip.height - 5);
      pen.moveTo(at, bottom); pen.lineTo(at, Math.min(top, bottom - 1));
    }
    stroke("#5b7f99", 1);
  }
  const a = px(view.from), b = Math.max(px(view.to), px(view.from) + 3);
  pen.fillStyle = "rgba(21,32,43,0.16)";
  pen.fillRect(left, strip.top, Math.max(a - left, 0), strip.height);
  pen.fillRect(b, strip.top, Math.max(width - right - b, 0), strip.height);
  pen.strokeStyle = INK; pen.lineWidth = 2; pen.strokeRect(a, strip.top, b - a, strip.height);
  words("whole", left - 6, strip.top + 8, "right", SOFT);
  words("period", left - 6, strip.top + 22, "right", SOFT);
  pen.font = "11px " + FONT;
  words(day(WHOLE.from + ahead(WHOLE.from)), left, strip.top + strip.height + 10, "left", SOFT);
  words(day(WHOLE.to + ahead(WHOLE.to)), width - right, strip.top + strip.height + 10, "right", SOFT);
  pen.font = "12px " + FONT;
}

function drawCursor() {
  if (cursor < 0 || times[cursor] < view.from || times[cursor] > view.to) return;
  const px = x(times[cursor]);
  upright(px, strips[0].top, strips.axis); stroke(INK, 1, [4, 3]);
  for (const strip of strips) {
    const value = strip.kind === "gas" ? strip.gas.shown[cursor] : strip.kind === "line" ? health.values[cursor] : NaN;
    if (!(value === value)) continue;
    pen.beginPath(); pen.arc(px, strip.y(value), 5, 0, 7);
    stroke(PAPER, 4); stroke(INK, 2);
  }
}

/* ---- reading off ---- */

function facts(k) {
  const second = times[k], out = [];
  for (const gas of data.gases) {
    const state = gas.states[k], v = gas.values[k];
    let say = v === v ? number(v, gas.step) + " " + gas.unit : "no value";
    if (state) say += ", " + (STATUS[state] || state);
    if (gas.past[k]) {
      const over = gas.limits.filter(function (l) { return l[2] <= second && l[3] >= second && (l[4] ? v <= l[1] : v >= l[1]); });
      say += ", past setpoint " + over.map(function (l) { return l[0] + " " + (+l[1].toPrecision(6)); }).join(" and ");
    } else if (!state && v === v) say += ", status ok";
    out.push([gas.gas, say, gas.past[k] ? "grave" : ""]);
  }
  for (const one of data.line) {
    const v = one.values[k];
    out.push([one.label, v === v ? number(v, one.step) + (one.unit ? " " + one.unit : "") : "not logged", ""]);
  }
  const alarms = data.alarms.filter(function (a) { return a[0] <= second && a[1] >= second; }).map(function (a) {
    return a[5] + ": " + data.causes[a[3]][0] + " (" + a[6].toLowerCase() + ")" + (a[7] ? ", still open" : "");
  });
  out.push(["alarm", alarms.length ? alarms.join("; ") : "none standing", alarms.length ? "grave" : ""]);
  const gaps = data.unwatched.filter(function (g) { return g[0] <= second && g[1] >= second; });
  if (gaps.length) out.push(["unwatched", gaps.map(function (g) { return g[2]; }).join("; "), ""]);
  const work = data.work.filter(function (w) { return w[0] <= second && w[1] >= second; });
  if (work.length) out.push(["work", work.map(function (w) { return w[2] === "cargo" || w[2] === "line" ? w[3] : w[2] + " " + w[3]; }).join("; "), ""]);
  return out;
}
function point(k, aloud) {
  if (k < 0 || k >= times.length) return;
  cursor = k;
  const list = facts(k);
  reading.textContent = "";
  const when = document.createElement("div"), time = document.createElement("strong"), beside = document.createElement("span");
  time.textContent = ship(times[k]);
  beside.className = "utc"; beside.textContent = " " + utc(times[k]);
  when.append(time, beside);
  const rows = document.createElement("div");
  rows.className = "pairs";
  for (const one of list) {
    const pair = document.createElement("div"), name = document.createElement("span"), value = document.createElement("b");
    name.textContent = one[0] + " "; value.textContent = one[1]; pair.className = one[2];
    pair.append(name, value); rows.append(pair);
  }
  reading.append(when, rows);
  if (aloud) said.textContent = ship(times[k]) + ". " + list.map(function (one) { return one[0] + " " + one[1]; }).join(". ");
  redraw();
}
function nearest(second) {
  const k = search(times, second);
  if (k <= 0) return 0;
  if (k >= times.length) return times.length - 1;
  return second - times[k - 1] < times[k] - second ? k - 1 : k;
}

/* ---- moving ---- */

function show(from, to) {
  const size = Math.min(Math.max(to - from, LEAST), WHOLE.to - WHOLE.from), middle = (from + to) / 2;
  let a = to - from === size ? from : middle - size / 2;
  a = Math.min(Math.max(a, WHOLE.from), WHOLE.to - size);
  view.from = a; view.to = a + size;
  redraw();
}
function zoom(factor, about) {
  const at = about === undefined ? (cursor >= 0 && times[cursor] >= view.from && times[cursor] <= view.to ? times[cursor] : (view.from + view.to) / 2) : about;
  const size = Math.min(Math.max((view.to - view.from) * factor, LEAST), WHOLE.to - WHOLE.from);
  const share = (at - view.from) / (view.to - view.from);
  show(at - share * size, at - share * size + size);
}
function pan(share) { const by = share * (view.to - view.from); show(view.from + by, view.to + by); }
function around(from, to) { const room = Math.max(3 * 3600, 0.6 * (to - from)); show(from - room, to + room); }
function toAlarm(direction) {
  const here = cursor >= 0 && times[cursor] >= view.from && times[cursor] <= view.to ? times[cursor] : (view.from + view.to) / 2;
  const list = alarmStarts.filter(function (s) { return direction > 0 ? s > here + data.gap / 2 : s < here - data.gap / 2; });
  const start = direction > 0 ? list[0] : list[list.length - 1];
  if (start === undefined) { said.textContent = "No " + (direction > 0 ? "later" : "earlier") + " alarm."; return; }
  const alarm = data.alarms.find(function (a) { return a[0] === start; });
  around(alarm[0], Math.min(alarm[1], alarm[0] + 14 * 86400));
  point(nearest(start), true);
}
function toEpisode(name) {
  const alarm = name && data.alarms.find(function (a) { return a[5].split(" ")[0] === name; });
  if (!alarm) return false;
  around(alarm[0], Math.min(alarm[1], alarm[0] + 14 * 86400));
  point(nearest(alarm[0]), true);
  return true;
}
const ACTS = {
  "in": function () { zoom(0.5); }, "out": function () { zoom(2); },
  earlier: function () { pan(-0.5); }, later: function () { pan(0.5); },
  whole: function () { show(WHOLE.from, WHOLE.to); },
  before: function () { toAlarm(-1); }, after: function () { toAlarm(1); }
};

/* ---- hands ---- */

const fingers = new Map();
let grip = null;
function place(event) {
  const edge = canvas.getBoundingClientRect();
  return { px: event.clientX - edge.left, py: event.clientY - edge.top };
}
function onWhole(py) { return py >= strips[strips.length - 1].top - 4; }
function jump(px) {
  const at = WHOLE.from + (px - left) / (width - left - right) * (WHOLE.to - WHOLE.from), half = (view.to - view.from) / 2;
  show(at - half, at + half);
}
canvas.addEventListener("pointerdown", function (event) {
  if (event.button) return;
  const p = place(event);
  canvas.focus({ preventScroll: true });
  canvas.setPointerCapture(event.pointerId);
  fingers.set(event.pointerId, p.px);
  if (fingers.size === 2) {
    const two = Array.from(fingers.values());
    grip = { pinch: Math.abs(two[0] - two[1]) || 1, size: view.to - view.from, at: secondAt((two[0] + two[1]) / 2) };
    return;
  }
  grip = { px: p.px, from: view.from, to: view.to, moved: false, whole: onWhole(p.py), box: event.shiftKey };
  if (grip.whole) jump(p.px);
});
canvas.addEventListener("pointermove", function (event) {
  const p = place(event);
  if (!fingers.has(event.pointerId)) {
    if (!onWhole(p.py) && p.px >= left) point(nearest(secondAt(p.px)), false);
    return;
  }
  fingers.set(event.pointerId, p.px);
  if (!grip) return;
  if (grip.pinch) {
    const two = Array.from(fingers.values());
    if (two.length < 2) return;
    const size = Math.min(Math.max(grip.size * grip.pinch / (Math.abs(two[0] - two[1]) || 1), LEAST), WHOLE.to - WHOLE.from);
    const share = ((two[0] + two[1]) / 2 - left) / (width - left - right);
    show(grip.at - share * size, grip.at - share * size + size);
    return;
  }
  if (grip.whole) { jump(p.px); return; }
  if (Math.abs(p.px - grip.px) > 4) grip.moved = true;
  if (!grip.moved) return;
  if (grip.box) { box = { a: Math.max(grip.px, left), b: Math.max(p.px, left) }; redraw(); return; }
  const by = (grip.px - p.px) / (width - left - right) * (grip.to - grip.from);
  show(grip.from + by, grip.to + by);
});
function release(event) {
  const p = place(event);
  if (grip && !grip.pinch && !grip.whole && event.type === "pointerup") {
    if (!grip.moved) point(nearest(secondAt(p.px)), true);
    else if (box) { const a = secondAt(Math.min(box.a, box.b)), b = secondAt(Math.max(box.a, box.b)); show(a, b); }
  }
  box = null; grip = null;
  fingers.delete(event.pointerId);
  redraw();
}
canvas.addEventListener("pointerup", release);
canvas.addEventListener("pointercancel", release);
canvas.addEventListener("dblclick", function (event) {
  const p = place(event);
  if (!onWhole(p.py)) zoom(0.25, secondAt(p.px));
});
// The wheel scrolls the page until the plot is clicked, so that nobody is caught on the way down.
canvas.addEventListener("wheel", function (event) {
  if (document.activeElement !== canvas && !event.ctrlKey) return;
  if (event.deltaY > 0 && view.to - view.from >= WHOLE.to - WHOLE.from && !event.ctrlKey && !event.shiftKey) return;
  event.preventDefault();
  if (event.shiftKey) pan((event.deltaY || event.deltaX) / 800);
  else zoom(Math.exp(event.deltaY * 0.0016), secondAt(place(event).px));
}, { passive: false });
canvas.addEventListener("keydown", function (event) {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const step = function (by) {
    const k = cursor < 0 ? nearest((view.from + view.to) / 2) : Math.min(Math.max(cursor + by, 0), times.length - 1);
    if (times[k] < view.from || times[k] > view.to) show(times[k] - (view.to - view.from) / 2, times[k] + (view.to - view.from) / 2);
    point(k, true);
  };
  const keys = {
    ArrowLeft: function () { if (event.shiftKey) pan(-0.25); else step(-1); },
    ArrowRight: function () { if (event.shiftKey) pan(0.25); else step(1); },
    PageUp: ACTS.before, PageDown: ACTS.after, Home: ACTS.whole,
    "+": ACTS["in"], "=": ACTS["in"], "-": ACTS.out, "_": ACTS.out, ArrowUp: ACTS["in"], ArrowDown: ACTS.out
  };
  if (!keys[event.key]) return;
  event.preventDefault();
  keys[event.key]();
});
root.addEventListener("click", function (event) {
  const button = event.target.closest("button");
  if (!button) return;
  if (button.dataset.act) ACTS[button.dataset.act]();
});
root.addEventListener("change", function (event) {
  const name = event.target.dataset.show;
  if (name) { shows[name] = event.target.checked; redraw(); }
  if (event.target.dataset.goto) {
    const pair = event.target.value.split(" "), size = +pair[0], at = cursor >= 0 && times[cursor] >= view.from && times[cursor] <= view.to ? times[cursor] : (view.from + view.to) / 2;
    if (pair.length > 1) { show(+pair[0], +pair[1]); point(nearest((+pair[0] + +pair[1]) / 2), true); }
    else show(at - size / 2, at + size / 2);
    event.target.value = "";
  }
});
document.addEventListener("click", function (event) {
  const link = event.target.closest("a[data-episode]");
  if (link && toEpisode(link.dataset.episode)) {
    event.preventDefault();
    root.scrollIntoView({ block: "start" });
    canvas.focus({ preventScroll: true });
  }
});
function fromAddress() { toEpisode(decodeURIComponent(location.hash.slice(1))); }
window.addEventListener("hashchange", fromAddress);
if (window.ResizeObserver) new ResizeObserver(redraw).observe(canvas.parentNode);
else window.addEventListener("resize", redraw);

// Everything worked so far: only now the moving plot takes the place of the still pictures.
document.documentElement.classList.add("live");
root.querySelector(".of-line").hidden = !health;
draw();
point(times.length - 1, false);
fromAddress();
// For a look from the browser's own console.
window.pointPlot = { times: times, gases: data.gases, line: data.line, view: view, show: show, point: point, at: x,
  envelope: function (gas) { return envelope(times, gas.shown, span(), Math.round(width - left - right)); } };
})();
