// The pages beside a car, made to go on without a network: the clock runs, and each press is kept in this browser with its true
// time and a key of its own, and is sent once, in order, when the network is back. Everything works without this file too, as
// long as there is a network.
"use strict";
(() => {
  const main = document.getElementById("main");
  const box = document.getElementById("kept");
  if (!main || !box) return;
  const { person, name, code, now } = main.dataset;
  // The tablet's clock may be wrong; the server's is right.
  const ahead = Date.parse(now) - Date.now();
  const time = () => Date.now() + ahead;
  const clockOf = (ms) => new Date(ms).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });

  // What is kept. A browser that keeps nothing sends each press at once, as without this file.
  const read = (key) => {
    try { return JSON.parse(localStorage.getItem(key)) || []; } catch { return []; }
  };
  const write = (key, list) => {
    try { localStorage.setItem(key, JSON.stringify(list)); return true; } catch { return false; }
  };
  const QUEUE = "baywright.presses";
  const REFUSED = "baywright.refused";
  const newKey = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  };

  const line = (text, list) => {
    const item = document.createElement("li");
    item.textContent = text;
    list.append(item);
  };
  const show = (note) => {
    const waiting = read(QUEUE);
    const refused = read(REFUSED);
    box.replaceChildren();
    box.hidden = !waiting.length && !refused.length;
    if (refused.length) {
      const head = document.createElement("h2");
      head.textContent = "Not taken";
      const list = document.createElement("ul");
      for (const one of refused) line(`${one.label}, ${clockOf(one.at)}: ${one.why}`, list);
      const seen = document.createElement("button");
      seen.type = "button";
      seen.className = "way";
      seen.textContent = "I have read this";
      seen.addEventListener("click", () => { write(REFUSED, []); show(); });
      box.append(head, list, seen);
    }
    if (waiting.length) {
      const head = document.createElement("h2");
      head.textContent = waiting.length === 1 ? "1 press is kept here and not sent yet" : `${waiting.length} presses are kept here and not sent yet`;
      const list = document.createElement("ul");
      for (const one of waiting) line(`${one.label}, ${clockOf(one.at)}${one.person === person ? "" : `, by ${one.name}`}`, list);
      const text = document.createElement("p");
      text.textContent = note || "They are sent by themselves when the network is back. Go on working; keep this page open.";
      box.append(head, list, text);
      if (note) {
        const link = document.createElement("a");
        link.className = "way";
        link.href = `/bay/sign-in?back=${encodeURIComponent(location.pathname)}`;
        link.textContent = "Sign in to send them";
        box.append(link);
      }
    }
  };

  // Sends one press. Gives what became of it: "away" keeps it, "signed out" keeps it for the next sign-in.
  const send = async (one) => {
    const fields = new URLSearchParams(one.fields);
    fields.set("code", code);
    let answer;
    try {
      const signal = AbortSignal.timeout ? AbortSignal.timeout(20000) : undefined;
      answer = await fetch(one.action, { method: "POST", body: fields, headers: { accept: "text/html" }, signal });
    } catch {
      return { is: "away" };
    }
    if (answer.status === 429 || answer.status >= 500) return { is: "away" };
    if (answer.status === 401) return { is: "signed out" };
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (answer.status === 403 && page.querySelector("input[name=key]")) return { is: "signed out" };
    if (answer.ok && answer.redirected) return { is: "taken", to: answer.url };
    if (answer.ok) return { is: "taken", page };
    // A question is asked by its own form, if the press is the only one.
    if (answer.status === 409 && page.querySelector("input[name=confirm]")) return { is: "asked", page };
    const why = page.querySelector(".care p") || page.querySelector(".care li") || page.querySelector(".lead");
    return { is: "refused", why: why ? why.textContent : "The server did not take it." };
  };
  const replace = (page) => {
    const theirs = page.getElementById("main");
    if (theirs) main.replaceChildren(...theirs.childNodes);
    window.scrollTo(0, 0);
  };

  let sending = false;
  const flush = async () => {
    if (sending) return;
    sending = true;
    let last = null;
    let note = "";
    try {
      for (;;) {
        const one = read(QUEUE).find((entry) => entry.person === person);
        if (!one) break;
        const alone = read(QUEUE).length === 1;
        const result = await send(one);
        if (result.is === "away") return;
        if (result.is === "signed out") {
          note = "You are signed out. Sign in again: they are sent then, with their times.";
          return;
        }
        write(QUEUE, read(QUEUE).filter((entry) => entry.key !== one.key));
        if (result.is === "asked" && alone) { replace(result.page); return; }
        if (result.is !== "taken") {
          const why = result.why || "The server asks something first. Press it again.";
          write(REFUSED, [...read(REFUSED), { label: one.label, at: one.at, why }]);
        }
        last = result;
      }
      const others = read(QUEUE).find((entry) => entry.person !== person);
      if (others) note = `${others.name} has to sign in to send these.`;
      if (!last) return;
      if (last.page && last.is === "taken") replace(last.page);
      else {
        // A press that was kept on another car's page leaves this one where it is.
        const here = last.to && new URL(last.to).pathname === location.pathname;
        location.replace(here ? last.to : location.pathname);
      }
    } finally {
      sending = false;
      show(note);
    }
  };

  // The page as it is after a press that was not sent yet.
  const cards = () => [...main.querySelectorAll("[data-step]")];
  const words = { start: ["on", "running"], stop: ["wait", "stopped"], finish: ["done", "finished"] };
  const minutes = (card) => {
    const since = Number(card.dataset.since) || Date.parse(now);
    const running = card.dataset.state === "RUNNING" ? (time() - since) / 60000 : 0;
    return Number(card.dataset.spent) + Math.max(0, running);
  };
  const told = (total) => {
    const hours = Math.floor(total / 60);
    const rest = total % 60;
    return [hours ? `${hours} h` : "", rest || !hours ? `${rest} min` : ""].filter(Boolean).join(" ");
  };
  const tick = () => {
    for (const card of cards().filter((one) => one.dataset.state === "RUNNING")) {
      const spent = Math.floor(minutes(card));
      const budget = Number(card.dataset.budget);
      const over = spent > budget;
      card.querySelector("[data-clock]").textContent = `${Math.floor(spent / 60)}:${String(spent % 60).padStart(2, "0")}`;
      card.querySelector("[data-asof]").textContent = clockOf(time());
      card.querySelector("[data-left]").textContent = over ? `${told(spent - budget)} over the budget of ${told(budget)}` : `${told(budget - spent)} left of ${told(budget)}`;
    }
  };
  const form = (card, act) => card.querySelector(`form[data-later=${act}]`);
  const canStart = (card) => {
    const open = cards().filter((one) => one.dataset.state !== "SETTLED").map((one) => one.dataset.step);
    const after = card.dataset.after.split(" ");
    const waits = cards().some((one) => one.dataset.dries && (one.dataset.holds === "CAR" || after.includes(one.dataset.step)));
    const dry = !card.dataset.from || Date.parse(card.dataset.from) <= time();
    return dry && !waits && !after.some((step) => open.includes(step));
  };
  const apply = (card, act) => {
    const data = card.dataset;
    if (act !== "start") data.spent = String(minutes(card));
    data.state = { start: "RUNNING", stop: "OPEN", finish: "SETTLED" }[act];
    data.since = String(time());
    if (act === "finish" && Number(data.wait) > 0) data.dries = "yes";
    form(card, "start").hidden = act !== "stop";
    form(card, "stop").hidden = act !== "start";
    form(card, "finish").hidden = act === "finish";
    const row = main.querySelector(`[data-row="${data.step}"] [data-word]`);
    for (const word of [card.querySelector("[data-word]"), row].filter(Boolean)) {
      word.className = `word ${words[act][0]}`;
      word.textContent = words[act][1];
    }
    // What can be put right, the server has to say.
    const back = main.querySelector("[data-back]");
    if (back) back.hidden = true;
    if (act !== "finish") return;
    const next = cards().find((one) => one.dataset.state !== "SETTLED" && canStart(one));
    if (!next) return;
    card.hidden = true;
    next.hidden = false;
    if (next.dataset.state === "OPEN") form(next, "start").hidden = false;
    next.scrollIntoView({ block: "start" });
  };

  main.addEventListener("submit", (event) => {
    const sent = event.target;
    const act = sent.dataset.later;
    if (!act) return;
    const file = sent.querySelector("input[type=file]");
    // A photograph is too large to keep here.
    if (file && file.files.length) return;
    const at = time();
    const key = newKey();
    const fields = [...new FormData(sent)].filter(([field, value]) => typeof value === "string" && !["code", "version", "key"].includes(field));
    fields.push(["key", key]);
    if (act !== "note") fields.push(["at", new Date(at).toISOString()]);
    const card = sent.closest("[data-step]");
    // A note that is not taken is shown with its text, so that it can be written again.
    const label = act === "note" ? `Note “${sent.elements.text.value}”` : `${{ start: "Start", stop: "Stop", finish: "Done" }[act]}: ${card.dataset.name}`;
    const action = sent.getAttribute("action");
    if (!write(QUEUE, [...read(QUEUE), { key, action, fields, label, at, person, name }])) return;
    event.preventDefault();
    if (act === "note") sent.reset(); else apply(card, act);
    show();
    flush();
  });
  window.addEventListener("online", flush);
  setInterval(tick, 10000);
  setInterval(() => { if (read(QUEUE).length) flush(); }, 15000);
  show();
  if (read(QUEUE).length) flush();
})();
