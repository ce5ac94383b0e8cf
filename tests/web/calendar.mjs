// Reads feeds and calendar files with the general library ical.js (npm), which follows RFC 5545, and wants back what was
// put in. node calendar.mjs ORACLE [COUNT] [SEED]
import { spawnSync } from "node:child_process";

import ICAL from "ical.js";

const [oracle, count = "1000", seed = String(Math.floor(Math.random() * 2 ** 31))] = process.argv.slice(2);

// A number that looks random and is the same for the same seed (mulberry32, after its public description).
let state = Number(seed);
const random = () => {
  state = (state + 0x6d2b79f5) | 0;
  let bits = Math.imul(state ^ (state >>> 15), 1 | state);
  bits = (bits + Math.imul(bits ^ (bits >>> 7), 61 | bits)) ^ bits;
  return ((bits ^ (bits >>> 14)) >>> 0) / 2 ** 32;
};
const upTo = (most) => Math.floor(random() * (most + 1));
const POOL = ["a", "Z", "9", " ", ",", ";", ":", "\\", "\"", "\n", "é", "ß", "漢", "🚗", "\\n", "BEGIN:VEVENT"];
const text = (longest) => Array.from({ length: upTo(longest) }, () => POOL[upTo(POOL.length - 1)]).join("").trim() || "x";
const moment = (minutes) => new Date(Date.UTC(2024, 0, 1) + minutes * 60_000).toISOString().replace(".000Z", "Z");

const event = (at) => {
  const start = upTo(5_000_000);
  return {
    uid: `event-${at}-${upTo(1e9)}`, sequence: upTo(1000), stamp: moment(start), start: moment(start),
    finish: moment(start + 1 + upTo(129_598)), summary: text(40), location: text(60), description: text(400),
    cancelled: random() < 0.3,
  };
};
const feeds = Array.from({ length: Number(count) }, (_, at) => (
  { id: at, name: text(60), events: Array.from({ length: upTo(6) }, (_, n) => event(n)) }));

const run = spawnSync(oracle, ["feed"], {
  input: feeds.map((feed) => JSON.stringify(feed) + "\n").join(""), encoding: "utf8", maxBuffer: 2 ** 30,
});
if (run.status !== 0) throw new Error(run.stderr);
const answers = run.stdout.trim().split("\n").map((line) => JSON.parse(line));

// The library leaves NAME as it is written, a property of RFC 7986: TEXT as RFC 5545, 3.3.11, escapes it.
const unescaped = (text) => text.replace(/\\(.)/gsu, (_, c) => (c === "n" || c === "N" ? "\n" : c));

const readBack = (file) => {
  const calendar = new ICAL.Component(ICAL.parse(file));
  const said = (component, name) => component.getFirstPropertyValue(name);
  return {
    name: unescaped(said(calendar, "name")), version: said(calendar, "version"),
    again: said(calendar, "refresh-interval").toSeconds(),
    events: calendar.getAllSubcomponents("vevent").map((one) => ({
      uid: said(one, "uid"), sequence: said(one, "sequence"), stamp: said(one, "dtstamp").toString(),
      start: said(one, "dtstart").toString(), finish: said(one, "dtend").toString(), summary: said(one, "summary"),
      location: said(one, "location"), description: said(one, "description"),
      cancelled: said(one, "status") === "CANCELLED",
    })),
  };
};

let wrong = 0;
feeds.forEach((feed, at) => {
  const asked = { name: feed.name, version: "2.0", again: 3600, events: feed.events };
  const found = answers[at].error ?? readBack(answers[at].file);
  if (JSON.stringify(found) !== JSON.stringify(asked)) {
    wrong += 1;
    console.log(`seed ${seed}, feed ${at}:\n  asked ${JSON.stringify(asked)}\n  found ${JSON.stringify(found)}`);
  }
});
console.log(`feeds beside ical.js: ${feeds.length} files, ${wrong} read otherwise (seed ${seed})`);
process.exit(wrong > 0 || feeds.length === 0 || answers.length !== feeds.length ? 1 : 0);
