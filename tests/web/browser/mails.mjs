// Mails of every kind in a real browser: node mails.mjs MAILS, the program that writes them.
//
// Nothing may be wider than the screen at 360 px, a phone, or at 720 px, and nothing may be loaded from anywhere.
// With a second argument, a folder, every mail is kept there as a picture.
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const [writer, pictures] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "baywright-mails-"));
let passed = 0, failed = 0;

function check(name, holds, seen) {
  holds ? passed++ : failed++;
  console.log(holds ? "ok    " : "FAILED", name, holds ? "" : JSON.stringify(seen));
}

// Every element that reaches beyond the screen, with how far.
const beyond = () => [...document.querySelectorAll("body *")]
  .map((element) => [element.tagName, Math.round(element.getBoundingClientRect().right), element.textContent.slice(0, 60)])
  .filter(([, right]) => right > document.documentElement.clientWidth);

try {
  execFileSync(writer, [folder], { stdio: ["ignore", "inherit", "inherit"] });
  const files = readdirSync(folder).sort();
  const kinds = new Set(files.map((file) => file.replace(/^\d+-|\.html$/g, "")));
  check("there are mails of many kinds", kinds.size >= 13, [...kinds]);
  const browser = await chromium.launch({
    executablePath: "/usr/bin/chromium",
    args: ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
      "--disable-background-networking", "--disable-component-update", "--disable-sync",
      "--host-resolver-rules=MAP * ~NOTFOUND"],
  });
  const asked = [];
  for (const width of [360, 720]) {
    const context = await browser.newContext({ viewport: { width, height: 800 }, isMobile: width < 500 });
    context.on("request", (request) => asked.push(request.url()));
    const page = await context.newPage();
    for (const file of files) {
      await page.setContent(readFileSync(join(folder, file), "utf8"));
      const found = await page.evaluate(beyond);
      const scroll = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]);
      check(`${file} fits on ${width} px`, found.length === 0 && scroll[0] <= scroll[1], [scroll, ...found.slice(0, 5)]);
      if (pictures) await page.screenshot({ path: join(pictures, `${file}-${width}.png`), fullPage: true });
    }
    await context.close();
  }
  check("nothing is loaded from anywhere", asked.length === 0, asked);
  await browser.close();
} finally {
  rmSync(folder, { recursive: true });
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed > 0 || passed === 0 ? 1 : 0);
