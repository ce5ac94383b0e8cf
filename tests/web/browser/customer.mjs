// The customer's page and the studio's in a real browser: node customer.mjs PROGRAM
//
// Chromium on a phone's screen and on a desk's, with scripts and without, by pointer, finger and keyboard; axe-core reads
// each page by the WCAG 2.0 to 2.2 rules of level A and AA that can be read by a program, and its own best practice.
import { createRequire } from "node:module";
import { chromium } from "playwright-core";
import { Program } from "./program.mjs";
import { studio } from "./studio.mjs";

const axe = createRequire(import.meta.url).resolve("axe-core/axe.min.js");
const PHONE = { viewport: { width: 360, height: 740 }, isMobile: true, hasTouch: true, deviceScaleFactor: 2 };
const DESK = { viewport: { width: 1280, height: 900 } };
let passed = 0, failed = 0;

function check(name, holds, seen = "") {
  holds ? passed++ : failed++;
  console.log(holds ? "ok    " : "FAILED", name, holds ? "" : `: ${typeof seen === "string" ? seen : JSON.stringify(seen)}`);
}

const program = await Program.start(process.argv[2]);
const browser = await chromium.launch({
  executablePath: "/usr/bin/chromium",
  args: ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"],
});
const asked = new Set(), troubles = [], links = [];

// A window of its own that notes every address it asks for and every trouble of the page.
async function windowOf(settings) {
  const context = await browser.newContext(settings);
  context.on("request", (request) => asked.add(request.url()));
  await context.addInitScript(() => {
    document.addEventListener("securitypolicyviolation", (event) => console.error(`policy: ${event.violatedDirective}`));
  });
  const page = await context.newPage();
  page.setDefaultTimeout(15_000);
  page.on("pageerror", (error) => troubles.push(String(error)));
  page.on("console", (message) => {
    // What a browser says about an answer of 404, 409, 410 or 422 is no trouble of the page.
    if (message.type() === "error" && !message.text().startsWith("Failed to load resource")) troubles.push(message.text());
  });
  return page;
}

const rules = { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"], rules: { "target-size": { enabled: true } } };

// Lets axe-core read a page, whatever is folded away too, and looks for what is wider than the screen or hard to touch.
async function read(name, page) {
  await page.addScriptTag({ path: axe });
  await page.evaluate(() => document.querySelectorAll("details").forEach((details) => { details.open = true; }));
  const { violations } = await page.evaluate((rules) => axe.run(document, rules), rules);
  check(`${name}: no fault`, violations.length === 0,
    violations.map(({ id, impact, nodes }) => `${id} (${impact}): ${nodes.map((node) => node.html).slice(0, 3).join(" ")}`).join("; "));
  check(`${name}: no sideways scrolling`, await fits(page));
  const small = await page.evaluate(() => [...document.querySelectorAll("button, .button, .go, .way, .pick, summary, label.tick, input[type=text], select, textarea")]
    .filter((part) => part.checkVisibility() && part.getBoundingClientRect().height < 44).map((part) => part.outerHTML.slice(0, 80)));
  check(`${name}: targets of 44 px`, small.length === 0, small);
}

const fits = (page) => page.evaluate(() => document.documentElement.scrollWidth <= document.documentElement.clientWidth);
const heading = (page) => page.locator("h1").innerText();
const sum = (page) => page.locator(".payable .amount").innerText();

try {
  const blank = await windowOf({ viewport: { width: 320, height: 240 } });
  await blank.setContent("<p>A car, drawn</p>");
  const car = await program.inspectedCar(await blank.screenshot());
  await blank.context().close();
  const sent = async (method, services) => {
    const made = await program.sentQuote(car, method, services);
    links.push(made.url);
    return made;
  };

  console.log("--- without scripts, on a phone");
  {
    const { quote, url, total } = await sent();
    const page = await windowOf({ ...PHONE, javaScriptEnabled: false });
    await page.goto(url);
    check("the offer says what is offered", (await heading(page)) === `Quote ${quote.number}`, await heading(page));
    check("with its price", (await sum(page)) === total(0), await sum(page));
    check("and fits on 360 px", await fits(page));
    check("photographs are shown", await page.locator(".photos img").first().evaluate((img) => img.decode().then(() => img.naturalWidth > 0, () => false)));
    await page.getByLabel("Leather balm").check();
    await page.getByRole("button", { name: "Show the price with these options" }).click();
    check("a ticked option is in the price", (await sum(page)) === total(40), await sum(page));
    check("and stays ticked", await page.getByLabel("Leather balm").isChecked());
    await page.getByRole("button", { name: "Check and accept" }).click();
    check("the price is said once more", (await sum(page)) === total(40), await sum(page));
    check("the page to check fits", await fits(page));
    await page.getByRole("button", { name: /^Accept for/ }).click();
    await page.waitForURL(/sent=yes/);
    check("an empty form is told what is missing", (await page.title()).startsWith("Error: ") && (await page.locator(".faults li").count()) === 3,
      await page.locator("main").innerText());
    await page.getByLabel("Your full name").fill("Fionnuala Brennan");
    await page.getByLabel("Yes, you may start").check();
    await page.getByLabel("I accept").check();
    await page.getByRole("button", { name: `Accept for ${total(40)}` }).click();
    check("it is accepted", (await heading(page)) === `Quote ${quote.number} is accepted`, await heading(page));
    check("the page after it fits", await fits(page));
    const kept = await program.signoff(quote);
    check("the record says so", kept.state === "SIGNED" && kept.typed_name === "Fionnuala Brennan" && kept.choices.join() === "0,1", kept);
    check("and has no drawing", kept.evidence.strokes === null, kept.evidence);
    await page.goBack();
    check("Back shows a page and asks for no form again", (await heading(page)).endsWith("is accepted"), await heading(page));
    await page.goto(url);
    check("the link shows it from now on", (await heading(page)).endsWith("is accepted"), await heading(page));
    await page.context().close();
  }

  console.log("--- options that exclude each other, without scripts and with them");
  for (const javaScriptEnabled of [false, true]) {
    const { url, total } = await sent("LINK", ["polish-one-step", "correction-two-step"]);
    const page = await windowOf({ ...PHONE, javaScriptEnabled });
    const name = javaScriptEnabled ? "with scripts" : "without";
    const price = page.locator("#totals");
    const show = () => javaScriptEnabled ? undefined : page.getByRole("button", { name: "Show the price with these options" }).click();
    const says = async (what) => {
      await page.waitForFunction((what) => document.getElementById("totals").textContent.includes(what), what, { timeout: 5_000 }).catch(() => {});
      return (await price.innerText()).includes(what);
    };
    await page.goto(url);
    const options = page.locator('#options input[name="take"]');
    for (const place of [2, 3]) await options.nth(place).check();
    await show();
    check(`${name}: the box says what is wrong, once`, await says("exclude each other") && (await price.innerText()).split("exclude").length === 2, await price.innerText());
    check(`${name}: and nothing else`, !(await price.innerText()).includes("Tick at least one"), await price.innerText());
    await page.getByRole("button", { name: "Check and accept" }).click();
    await page.waitForURL(/check/);
    check(`${name}: nor on the way on`, await says("exclude each other") && !(await page.content()).includes("Tick at least one"), await price.innerText());
    for (const place of [2, 3]) await options.nth(place).uncheck();
    await show();
    check(`${name}: a good choice has its price again`, await says(total(0)), await price.innerText());
    check(`${name}: and no fault is left`, (await page.locator(".faults").count()) === 0 && !(await page.title()).startsWith("Error"), await page.title());
    await page.context().close();
  }

  console.log("--- in line, and on paper");
  {
    const { quote, url } = await sent();
    const page = await windowOf(DESK);
    await page.goto(url);
    const edges = await page.locator(".sums .amount").evaluateAll((all) => all.map((one) => Math.round(one.getBoundingClientRect().right)));
    check("the amounts of the totals end at one line", edges.length > 2 && new Set(edges).size === 1, edges);
    const heights = await page.locator(".sums > div").evaluateAll((all) => all.slice(0, 2).map((one) =>
      Math.abs(one.querySelector("dt").getBoundingClientRect().bottom - one.querySelector("dd").getBoundingClientRect().bottom)));
    check("each beside its name", heights.every((far) => far < 4), heights);
    check("a number is not broken at its hyphens", await page.locator("h1 .whole").evaluate((span) => span.getClientRects().length === 1));
    check("the studio can be called and written to", (await page.locator('footer a[href^="tel:"]').count()) === 1 && (await page.locator('footer a[href^="mailto:"]').count()) === 1);
    check("no photograph waits for a scroll", (await page.locator('img[loading="lazy"]').count()) === 0);
    for (const format of ["A4", "Letter"]) {
      const bytes = (await page.pdf({ format })).toString("latin1");
      const pages = (bytes.match(/\/Type\s*\/Page[^s]/g) ?? []).length;
      check(`a quote takes one or two pages of ${format}`, pages >= 1 && pages <= 2, String(pages));
    }
    await page.emulateMedia({ media: "print" });
    const footer = await page.locator("footer").innerText();
    check("paper has the studio's number and mail", await page.locator("footer .reach").first().isVisible() && /\+353/.test(footer) && /@/.test(footer), footer);
    check("and no buttons", (await page.locator(".actions").isVisible()) === false);
    check("and all photographs", await page.locator(".photos img").evaluateAll((all) => all.every((img) => img.complete && img.naturalWidth > 0)));
    await page.goto(`${program.base}/q/${quote.id.replaceAll("-", "").padEnd(43, "0")}`);
    check("an unknown link names the studio", (await page.locator("footer a[href^='tel:']").count()) === 1);
    await page.context().close();
  }

  console.log("--- agreeing to an earlier start after a no");
  {
    const { quote, url } = await sent();
    const page = await windowOf({ ...PHONE, javaScriptEnabled: false });
    await page.goto(`${url}/check`);
    await page.getByLabel("Your full name").fill("Fionnuala Brennan");
    await page.getByLabel("No, start after the 14 days").check();
    await page.getByLabel("I accept").check();
    await page.getByRole("button", { name: /^Accept for/ }).click();
    check("the page says when work starts", (await page.locator("main").innerText()).includes("or later"), await page.locator("main").innerText());
    await page.getByText("Would you like us to start sooner?").click();
    await page.getByRole("button", { name: "Yes, you may start" }).click();
    check("and that it was agreed", (await page.locator("main").innerText()).includes("You agreed that we may start"), await page.locator("main").innerText());
    check("the record says so", (await program.ask("GET", `/v1/quotes/${quote.id}`)).latest.start_not_before === null);
    await page.context().close();
  }

  console.log("--- declining without scripts");
  {
    const { quote, url } = await sent();
    const page = await windowOf({ ...PHONE, javaScriptEnabled: false });
    await page.goto(url);
    await page.getByRole("link", { name: "Decline" }).click();
    await page.getByLabel(/^Reason/).fill("The car was sold.");
    await page.getByRole("button", { name: /^Decline/ }).click();
    check("it is declined", (await heading(page)) === `Quote ${quote.number} was declined`, await heading(page));
    check("the record says so", (await program.signoff(quote)).state === "DECLINED");
    await page.context().close();
  }

  // Fills in the page to check and presses the button.
  const accept = async (page) => {
    await page.getByLabel("Your full name").fill("Fionnuala Brennan");
    await page.getByLabel("No, start after the 14 days").check();
    await page.getByLabel("I accept").check();
    await page.getByRole("button", { name: /^Accept for/ }).click();
    await page.waitForURL(/\/done$/);
  };
  const drawing = (page) => page.locator('input[name="strokes"]').inputValue().then((text) => JSON.parse(text || "[]"));

  console.log("--- with scripts, by pointer");
  {
    const { quote, url, total } = await sent();
    const page = await windowOf(PHONE);
    const opened = page.waitForResponse((answer) => answer.url().endsWith("/opened"));
    await page.goto(url);
    check("the first look is noted", (await opened).status() === 204);
    await page.getByLabel("Engine bay").check();
    await page.waitForFunction((text) => document.querySelector(".payable .amount").textContent === text, total(65.5));
    check("the price follows a tick", (await sum(page)) === total(65.5));
    check("and so does the address", page.url() === `${url}?take=2`, page.url());
    await page.getByRole("button", { name: "Check and accept" }).click();
    await page.getByText("Add a drawn signature").click();
    check("the page with the field fits", await fits(page));
    const pad = page.getByRole("img", { name: "Field to draw a signature in" });
    await pad.scrollIntoViewIfNeeded();
    const box = await pad.boundingBox();
    await page.mouse.move(box.x + 40, box.y + 90);
    await page.mouse.down();
    for (let step = 0; step <= 20; step++) await page.mouse.move(box.x + 40 + step * 10, box.y + 90 + 40 * Math.sin(step / 3));
    await page.mouse.up();
    const lines = await drawing(page);
    await page.getByRole("button", { name: /^Accept for/ }).click();
    await page.locator(".faults").waitFor();
    check("a drawing outlives a form with faults", JSON.stringify(await drawing(page)) === JSON.stringify(lines), await drawing(page));
    check("a line is drawn", lines.length === 1 && lines[0].length > 10, lines);
    const inked = await pad.evaluate((canvas) =>
      canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data.filter((value, at) => at % 4 === 3 && value > 0).length);
    check("and seen", inked > 100, String(inked));
    await accept(page);
    const kept = await program.signoff(quote);
    check("the record has it", JSON.stringify(kept.evidence.strokes) === JSON.stringify(lines), kept.evidence.strokes);
    check("with the choices and the wish", kept.choices.join() === "0,2" && kept.early_start === false, kept);
    check("and when the link was first opened", kept.evidence.link.first_opened_at !== null, kept.evidence.link);
    await page.context().close();
  }

  console.log("--- with scripts, by finger, on the studio's device");
  {
    const { quote, url } = await sent("IN_PERSON");
    const page = await windowOf({ ...PHONE, viewport: { width: 768, height: 1024 } });
    await page.goto(`${url}/check`);
    check("it says whose device it is", (await page.locator("header").innerText()).includes("studio's device"));
    await page.getByText("Add a drawn signature").click();
    const box = await page.locator("canvas").boundingBox();
    const client = await page.context().newCDPSession(page);
    const touch = (type, points) => client.send("Input.dispatchTouchEvent", { type, touchPoints: points.map(([x, y]) => ({ x: box.x + x, y: box.y + y })) });
    const before = await page.evaluate(() => window.scrollY);
    for (const from of [30, 130]) {
      await touch("touchStart", [[from, 30]]);
      for (let step = 1; step <= 8; step++) await touch("touchMove", [[from + step * 5, 30 + step * 10]]);
      await touch("touchEnd", []);
    }
    const lines = await drawing(page);
    check("two lines are drawn", lines.length === 2 && lines.every((line) => line.length > 3), lines);
    check("and the page stays where it is", (await page.evaluate(() => window.scrollY)) === before);
    await page.getByRole("button", { name: "Clear the drawing" }).click();
    check("the drawing can be cleared", (await drawing(page)).length === 0);
    await page.getByLabel("Your full name").fill("Fionnuala Brennan");
    await page.getByLabel("I accept").check();
    await page.getByRole("button", { name: /^Accept for/ }).click();
    await page.waitForURL(/\/done$/);
    const kept = await program.signoff(quote);
    check("it is signed in person", kept.method === "IN_PERSON" && kept.noted_by !== null && kept.evidence.strokes === null, kept);
    await page.context().close();
  }

  console.log("--- with scripts, by keyboard alone");
  {
    const { quote, url } = await sent();
    const page = await windowOf(DESK);
    await page.goto(url);
    const focused = (test) => page.evaluate(test);
    // Goes on until the focus is where it should be.
    const tabTo = async (selector) => {
      for (let presses = 0; presses < 60; presses++) {
        if (await page.evaluate((wanted) => document.activeElement.matches(wanted), selector)) return true;
        await page.keyboard.press("Tab");
      }
      return false;
    };
    await page.keyboard.press("Tab");
    check("the first key leads past the head of the page", await focused(() => document.activeElement.className === "skip"));
    check("an option is reached", await tabTo('input[name="take"][value="1"]'));
    check("the focus is seen", await focused(() => getComputedStyle(document.activeElement).outlineStyle !== "none"));
    await page.keyboard.press("Space");
    await page.waitForURL(/take=1$/);
    check("the button to go on is reached", await tabTo("button.main"));
    await page.keyboard.press("Enter");
    await page.waitForURL(/\/check\?take=1$/);
    check("the name is reached", await tabTo("#name"));
    await page.keyboard.type("Fionnuala Brennan");
    check("the wish is reached", await tabTo('input[name="early_start"]'));
    await page.keyboard.press("Space");
    check("the drawing is reached", await tabTo("#drawing summary"));
    await page.keyboard.press("Enter");
    check("its field is reached", await tabTo("canvas"));
    await page.keyboard.press("Space");
    for (let presses = 0; presses < 8; presses++) await page.keyboard.press(presses % 2 ? "ArrowDown" : "ArrowRight");
    await page.keyboard.press("Space");
    await page.keyboard.press("Shift+ArrowRight");
    await page.keyboard.press("Space");
    await page.keyboard.press("ArrowUp");
    const lines = await drawing(page);
    check("two lines are drawn", lines.length === 2 && lines[0].length === 9 && lines[1].length === 2, lines);
    check("the tick is reached", await tabTo("#intent"));
    await page.keyboard.press("Space");
    check("the button is reached", await tabTo("button.main"));
    await page.keyboard.press("Enter");
    await page.waitForURL(/\/done$/);
    const kept = await program.signoff(quote);
    check("the record has the drawing and the choice", JSON.stringify(kept.evidence.strokes) === JSON.stringify(lines) && kept.choices.join() === "0,1", kept);
    await page.context().close();
  }

  console.log("--- read by axe-core, light and dark, on 320, 768 and 1280 px");
  {
    const [open, signed, gone] = [await sent(), await sent(), await sent()];
    await program.ask("POST", `/v1/quotes/${gone.quote.id}/withdraw`, {}, gone.quote.version);
    const page = await windowOf(DESK);
    await page.goto(`${signed.url}/check`);
    await accept(page);
    await page.getByRole("button", { name: "Open the page for your stay" }).click();
    await page.waitForURL(/\/c\//);
    const stay = page.url();
    check("the page for the stay says what comes next", (await page.locator(".lamp h2").innerText()) === "Let us agree a time", await page.locator("main").innerText());
    await program.ask("PUT", "/v1/self-booking", { allowed: true, notice_hours: 24 }, 1);
    await page.reload();
    check("times are offered once the studio allows it", (await page.locator(".pick").count()) > 2, await page.locator("main").innerText());
    await page.context().close();
    const pages = [
      ["stay", stay], ["stay with a question sent", `${stay}?asked=yes`],
      ["offer", open.url], ["offer with a choice", `${open.url}?take=1&take=2`], ["choice that is not offered", `${open.url}?take=9`],
      ["check", `${open.url}/check?take=1`], ["decline", `${open.url}/decline`], ["signed", `${signed.url}/done`],
      ["withdrawn", gone.url], ["unknown link", `${program.base}/q/${"0".repeat(43)}`],
    ];
    {
      // A reader that finds nothing would be no reader.
      const page = await windowOf({ ...DESK, bypassCSP: true });
      await page.goto(open.url);
      await page.addScriptTag({ path: axe });
      await page.addStyleTag({ content: "p { color: #ddd; background: #fff; }" });
      const { violations } = await page.evaluate((rules) => axe.run(document, rules), rules);
      check("grey on white is found", violations.some(({ id }) => id === "color-contrast"), violations.map(({ id }) => id));
      await page.context().close();
    }
    for (const colorScheme of ["light", "dark"]) {
      for (const width of [320, 768, 1280]) {
        // axe comes into the page from outside, which our policy forbids; the policy itself is tried above.
        const page = await windowOf({ viewport: { width, height: 900 }, colorScheme, bypassCSP: true });
        for (const [name, url] of pages) {
          await page.goto(url);
          await read(`${name}, ${colorScheme}, ${width} px`, page);
        }
        await page.goto(`${open.url}/check`);
        await page.getByRole("button", { name: /^Accept for/ }).click();
        await page.locator(".faults").waitFor();
        check("what is missing is told and has the focus", await page.evaluate(() => document.activeElement.className === "faults"));
        await read(`check with faults, ${colorScheme}, ${width} px`, page);
        await page.context().close();
      }
    }
  }

  const empty = await Program.empty(process.argv[2]);
  try {
    await studio({ program, empty, windowOf, check, read, fits, heading, PHONE });
  } finally {
    await empty.stop();
  }

  console.log("--- all in all");
  const ours = [program.base, empty.base];
  const elsewhere = [...asked].filter((url) => !ours.some((base) => url.startsWith(`${base}/`)) && !/^(data|about):/.test(url));
  check("no request leaves the program", asked.size > 20 && elsewhere.length === 0, elsewhere);
  check("no script fails and no policy is broken", troubles.length === 0, troubles);
  const log = program.text("serve.log");
  const tokens = links.map((url) => url.split("/q/")[1]);
  check("the log has the pages by their pattern", log.includes("/q/{token}"), log.slice(-2000));
  check("and no token", tokens.length > 5 && tokens.every((token) => !log.includes(token)));
} catch (error) {
  check("the run went through", false, String(error.stack ?? error));
} finally {
  await browser.close();
  await program.stop();
}
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed ? 1 : 0;
