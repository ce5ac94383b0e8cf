// The studio's pages in a real browser: signing in, the guided setup of an empty database without scripts on a phone, and
// every page on every screen.
import { OWNER } from "./program.mjs";

const PASSWORD = "thirteen quiet buckets";

// Every page of somebody who has signed in, with the path at which it is found.
const PAGES = [
  ["start", "/"], ["steps", "/set-up/steps"], ["test mail", "/set-up/mail"], ["shop", "/shop"], ["shop, saved", "/shop?saved=yes"],
  ["today", "/today"], ["another day", "/today?date=2026-12-24"], ["cars", "/cars"], ["cars with money to do", "/cars?group=UNPAID"],
  ["one stay", "/cars/{visit}"], ["find", "/find"], ["find something", "/find?q=a"], ["find nothing", "/find?q=zzzzzz"],
  ["tax", "/tax"], ["hours", "/hours"], ["bays", "/bays"], ["bay", "/bays/{bay}"], ["bookings by customers", "/self-booking"], ["people", "/people"],
  ["person", "/people/{person}"], ["menu", "/menu"], ["trial", "/menu/trial"],
  ["trial with a price", "/menu/trial?size=MEDIUM&condition=FAIR&powertrain=UNKNOWN&services=maintenance-wash"],
  ["trial that can't be priced", "/menu/trial?size=MEDIUM&condition=FAIR&powertrain=UNKNOWN&services=no-such-service"],
  ["new car", "/new-car"], ["new car, found", "/new-car?q=a"], ["new car, call", "/new-car/{enquiry}"],
  ["new car, car", "/new-car/{enquiry}/car"], ["new car, another car", "/new-car/{enquiry}/car?another=yes"],
  ["new car, walk-round", "/new-car/{enquiry}/walk-round"], ["new car, finding", "/new-car/{enquiry}/walk-round?finding=0"],
  ["new car, work", "/new-car/{enquiry}/work"], ["new car, send", "/new-car/{enquiry}/send"],
  ["work in the bays", "/bay"], ["a car in its bay", "/bay/{job}"], ["found something", "/bay/{job}/found"],
  ["tablets", "/shop/tablets"], ["digits", "/digits"], ["digits of a person", "/people/{person}/digits"], ["making a device a tablet", "/tablet"], ["diary", "/diary"], ["booking", "/diary/{booking}"], ["times to move", "/diary/{booking}/move"],
  ["cancelling", "/diary/{booking}/cancel"], ["absences", "/diary/absences"], ["closures", "/diary/closures"],
  ["asking for a plan", "/diary/week-plan"],
  ["nothing there", "/nothing"],
];

// Forms with something wrong: the page, and what is typed into it.
const FAULTS = [
  ["shop", "/shop", { "Name of the studio": "" }], ["tax", "/tax", { "Name on invoices": "" }],
  ["hours", "/hours", { "Monday, from": "late" }], ["bays", "/bays", { "Name": "" }], ["tablets", "/shop/tablets", { "Name": "" }], ["people", "/people", { "Name": "Niamh" }],
  ["menu", "/menu", { "Price of one hour of work": "much" }], ["new car", "/new-car", { "Name": "" }], ["test mail", "/set-up/mail", { "Email address": "nobody" }],
];

export async function studio({ program, empty, windowOf, check, read, fits, heading, PHONE }) {
  const fill = async (page, fields) => {
    for (const [label, text] of Object.entries(fields)) await page.getByLabel(label, { exact: true }).fill(text);
  };
  const press = (page, name) => page.getByRole("button", { name, exact: true }).click();
  const said = (page, text) => page.locator("main").innerText().then((all) => all.includes(text));

  console.log("--- an empty database is set up without scripts, on a phone");
  {
    const page = await windowOf({ ...PHONE, javaScriptEnabled: false });
    const step = async (title) => {
      await page.goto(`${empty.base}/`);
      check(`next: ${title}`, (await page.locator(".lamp h2").innerText()) === title, await page.locator("main").innerText());
      check(`${title}: the start page fits`, await fits(page));
      await page.getByRole("link", { name: title, exact: true }).first().click();
      check(`${title}: its page fits`, await fits(page));
    };
    await page.goto(`${empty.base}/`);
    check("the first page is the setup", (await heading(page)) === "Set up your studio", await heading(page));
    await press(page, "Set up the studio");
    check("an empty form is told what is missing", (await page.title()).startsWith("Error: ") && (await page.locator(".care li").count()) >= 7,
      await page.locator("main").innerText());
    await fill(page, {
      "Setup code": empty.code ?? "", "Name of the studio": "Harbour Detailing", "Time zone": "Europe/Dublin",
      "Standard rate of VAT, in percent": "23", "Your name": "Orla", "Your email address": "orla@harbour.example", "Your password": PASSWORD,
    });
    await page.getByLabel("Currency").selectOption("EUR");
    await press(page, "Set up the studio");
    check("the steps come next", (await heading(page)) === "Set up the studio", await page.locator("main").innerText());

    await step("Enter your studio details");
    await fill(page, { "Telephone (optional)": "+353 20 910 0199", "Street and number (optional)": "1 Harbour Quay" });
    await page.getByLabel("Country").selectOption("IE");
    await press(page, "Save");
    check("it is saved", await said(page, "Saved."), await page.locator("main").innerText());

    await step("Set the opening hours");
    await fill(page, { "Saturday, from": "9", "Saturday, until": "13.00" });
    await press(page, "Save");
    check("hours are read as people write them", (await page.getByLabel("Saturday, until", { exact: true }).inputValue()) === "13:00");

    await step("Add your bays");
    await fill(page, { "Name": "Bay 1" });
    for (const feature of ["drain", "lift"]) await page.getByLabel(feature, { exact: true }).check();
    await press(page, "Add bay");
    check("the bay is in the list", await said(page, "Bay 1"));

    await step("Add people and their hours");
    await fill(page, { "Name": "Niamh", "Email address": "niamh@harbour.example" });
    await page.getByLabel("Role").selectOption("TECHNICIAN");
    await page.getByLabel("machine polish", { exact: true }).check();
    await page.getByLabel("Works on cars whenever the studio is open").check();
    await press(page, "Add person");
    check("her own page follows", (await heading(page)) === "Niamh", await heading(page));
    await press(page, "Create an invite");
    const address = await page.locator("main code").innerText();
    check("an invite is an address of ours", address.startsWith(`${empty.base}/invite/`), address);
    const hers = await windowOf({ ...PHONE, javaScriptEnabled: false });
    await hers.goto(address);
    await fill(hers, { "Your password": PASSWORD });
    await press(hers, "Save and sign in");
    check("she chooses a password and sees the day", new URL(hers.url()).pathname === "/today", await heading(hers));
    await hers.context().close();

    await step("Load a starter menu");
    await fill(page, { "Price of one hour of work": "65,00", "Round prices up to a multiple of": "5" });
    await press(page, "Load into the draft");
    check("a car can be priced", (await heading(page)) === "Price a car", await heading(page));
    await page.locator('input[value="maintenance-wash"]').check();
    await press(page, "Show the price");
    check("it has a price", /EUR [0-9]/.test(await page.locator("#price").innerText()), await page.locator("main").innerText());
    check("and fits", await fits(page));
    await press(page, "Publish the menu");
    check("what nobody has checked is said", (await heading(page)) === "Saved, but please check", await heading(page));

    await step("Send a test email");
    await press(page, "Send the test");
    const sent = async () => { await page.reload(); return said(page, "was only saved as a file"); };
    let went = false;
    for (let tries = 0; tries < 60 && !went; tries++) { went = await sent(); if (!went) await page.waitForTimeout(500); }
    check("the test mail goes out", went, await page.locator("main").innerText());
    await page.goto(`${empty.base}/set-up/steps`);
    check("everything is done", await said(page, "Everything is done"), await page.locator("main").innerText());
    await press(page, "Sign out");
    check("and somebody signs out", (await heading(page)) === "Sign in", await heading(page));
    await page.context().close();
  }

  console.log("--- signing in by keyboard, and coming back");
  const page = await windowOf({ ...PHONE, javaScriptEnabled: false });
  await page.goto(`${program.base}/shop`);
  check("a page asks to sign in first", (await heading(page)) === "Sign in", await heading(page));
  await page.getByLabel("Email address").focus();
  await page.keyboard.type(OWNER.email);
  await page.keyboard.press("Tab");
  await page.keyboard.type(OWNER.password);
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/shop$/);
  check("and leads back to it", (await heading(page)) === "Shop", await heading(page));
  const storageState = await page.context().storageState();
  await page.context().close();

  console.log("--- the studio's pages read by axe-core, light and dark, on 360, 768 and 1440 px");
  const first = async (list) => (await program.ask("GET", list)).items[0].id;
  const ids = {
    "{bay}": await first("/v1/bays"), "{person}": await first("/v1/people"), "{visit}": await first("/v1/visits"), 
    "{job}": await first("/v1/jobs?open=true"), "{booking}": await first("/v1/bookings?state=BOOKED"), "{enquiry}": (await program.newCar()).id,
  };
  const at = (path) => program.base + path.replace(/\{\w+\}/, (name) => ids[name]);
  for (const colorScheme of ["light", "dark"]) {
    for (const width of [360, 768, 1440]) {
      const settings = { viewport: { width, height: 900 }, colorScheme, bypassCSP: true };
      const inside = await windowOf({ ...settings, storageState });
      for (const [name, path] of PAGES) {
        await inside.goto(at(path));
        await read(`${name}, ${colorScheme}, ${width} px`, inside);
      }
      for (const [name, path, typed] of FAULTS) {
        await inside.goto(at(path));
        await fill(inside, typed);
        await inside.locator("form.lamp .go").click();
        check(`${name}: faults are told, ${width} px`, (await inside.title()).startsWith("Error: "), await inside.title());
        await read(`${name} with faults, ${colorScheme}, ${width} px`, inside);
      }
      await inside.context().close();
      const outside = await windowOf(settings);
      await outside.goto(at("/sign-in"));
      await read(`sign-in, ${colorScheme}, ${width} px`, outside);
      await fill(outside, { "Email address": "nobody" });
      await outside.locator(".go").click();
      await read(`sign-in with faults, ${colorScheme}, ${width} px`, outside);
      await outside.context().close();
    }
  }
}
