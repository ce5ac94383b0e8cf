// The customer's pages, made quicker: the price follows the ticks, and a signature can be drawn. Everything works
// without this file too.
"use strict";
(() => {
  const choose = document.querySelector("form.choose");
  if (choose) {
    const { path, code } = choose.dataset;
    const telling = new URLSearchParams({ code });
    // A page that somebody looks at; programs that follow links in mails run no script, or never show the page.
    const tell = () => {
      if (document.visibilityState !== "visible") return;
      document.removeEventListener("visibilitychange", tell);
      fetch(`${path}/opened`, { method: "POST", body: telling, keepalive: true }).catch(() => {});
    };
    document.addEventListener("visibilitychange", tell);
    tell();
    let asked = 0;
    choose.addEventListener("change", async () => {
      const mine = ++asked;
      const query = new URLSearchParams(new FormData(choose)).toString();
      const address = query ? `${path}?${query}` : path;
      try {
        const answer = await fetch(address, { headers: { accept: "text/html" } });
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        const found = page.getElementById("totals");
        if (mine !== asked) return;
        if (!found) return location.assign(address);
        // The price, or what is wrong with this choice; what was wrong with an earlier one is said no more.
        document.getElementById("totals").replaceChildren(...found.childNodes);
        const told = document.querySelector(".faults");
        if (told) told.remove();
        document.title = page.title;
        history.replaceState(null, "", address);
      } catch {
        // The button below the options asks for the price as well.
      }
    });
  }

  const faults = document.querySelector(".faults");
  if (faults) faults.focus();

  const place = document.getElementById("drawing");
  const field = place && place.querySelector('input[name="strokes"]');
  if (!field) return;
  const EDGE = 10000, MOST_LINES = 200, MOST_POINTS = 5000;
  // A form with faults comes back as a page of its own, without the drawing: it waits here, in this tab alone.
  const KEPT = `drawing ${location.pathname}`;
  const store = (text) => { try { sessionStorage.setItem(KEPT, text); } catch { /* A drawing is then made once more. */ } };
  let lines = [];
  if (!place.querySelector(".fault")) {
    try { lines = JSON.parse(sessionStorage.getItem(KEPT) || "[]"); } catch { lines = []; }
  }
  if (!Array.isArray(lines)) lines = [];
  field.value = lines.length ? JSON.stringify(lines) : "";
  const make = (name, properties) => Object.assign(document.createElement(name), properties);
  const box = make("details", { open: lines.length > 0 });
  box.append(make("summary", { textContent: "Add a drawn signature (optional)" }));
  box.append(make("p", { id: "pad-help", className: "fine",
    textContent: "Draw with a finger, a pen or a mouse. With the keyboard: arrow keys move the pen, the space bar puts it down and lifts it." }));
  const pad = make("canvas", { className: "pad", tabIndex: 0 });
  pad.setAttribute("role", "img");
  pad.setAttribute("aria-label", "Field to draw a signature in");
  pad.setAttribute("aria-describedby", "pad-help");
  const says = make("p", { className: "fine" });
  says.setAttribute("role", "status");
  const clear = make("button", { type: "button", className: "plain", textContent: "Clear the drawing" });
  box.append(pad, says, clear);
  place.append(box);
  const pen = { x: EDGE / 5, y: EDGE / 2, down: false, keys: false };
  const points = () => lines.reduce((sum, line) => sum + line.length, 0);
  const inside = (number) => Math.max(0, Math.min(EDGE, Math.round(number)));
  const draw = () => {
    const scale = window.devicePixelRatio || 1;
    const { width, height } = pad.getBoundingClientRect();
    if (!width) return;
    pad.width = width * scale;
    pad.height = height * scale;
    const paint = pad.getContext("2d");
    const at = ([x, y]) => [(x / EDGE) * pad.width, (y / EDGE) * pad.height];
    paint.strokeStyle = paint.fillStyle = getComputedStyle(pad).color;
    paint.lineWidth = 2.5 * scale;
    paint.lineCap = paint.lineJoin = "round";
    for (const line of lines) {
      paint.beginPath();
      line.forEach((point, index) => (index ? paint.lineTo(...at(point)) : paint.moveTo(...at(point))));
      if (line.length === 1) paint.lineTo(...at(line[0]));
      paint.stroke();
    }
    if (pen.keys) {
      const [x, y] = at([pen.x, pen.y]);
      paint.beginPath();
      paint.arc(x, y, 5 * scale, 0, 2 * Math.PI);
      pen.down ? paint.fill() : paint.stroke();
    }
  };
  const keep = () => {
    field.value = lines.length ? JSON.stringify(lines) : "";
    store(field.value);
    draw();
  };
  const full = () => {
    const is = points() >= MOST_POINTS || lines.length >= MOST_LINES;
    if (is) says.textContent = "The field is full. Clear it and draw more simply.";
    return is;
  };
  const begin = (x, y) => {
    if (full()) return false;
    lines.push([[inside(x), inside(y)]]);
    return true;
  };
  const go = (x, y) => { if (points() < MOST_POINTS) lines[lines.length - 1].push([inside(x), inside(y)]); };
  const where = (event) => {
    const { left, top, width, height } = pad.getBoundingClientRect();
    return [((event.clientX - left) / width) * EDGE, ((event.clientY - top) / height) * EDGE];
  };
  let drawing = false;
  pad.addEventListener("pointerdown", (event) => {
    pad.setPointerCapture(event.pointerId);
    pen.down = pen.keys = false;
    drawing = begin(...where(event));
    keep();
    event.preventDefault();
  });
  pad.addEventListener("pointermove", (event) => { if (drawing) { go(...where(event)); keep(); } });
  for (const end of ["pointerup", "pointercancel"]) pad.addEventListener(end, () => { drawing = false; });
  const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  pad.addEventListener("keydown", (event) => {
    const step = STEPS[event.key];
    if (!step && event.key !== " ") return;
    event.preventDefault();
    pen.keys = true;
    if (step) {
      const far = event.shiftKey ? 1000 : 250;
      pen.x = inside(pen.x + step[0] * far);
      pen.y = inside(pen.y + step[1] * far);
      if (pen.down) go(pen.x, pen.y);
    } else {
      pen.down = !pen.down && begin(pen.x, pen.y);
      says.textContent = pen.down ? "The pen is down." : "The pen is up.";
    }
    keep();
  });
  clear.addEventListener("click", () => {
    lines = [];
    pen.down = false;
    says.textContent = "The drawing is cleared.";
    keep();
  });
  box.addEventListener("toggle", draw);
  window.addEventListener("resize", draw);
  draw();
})();
