// Opens a page in a real headless Chromium as several people would, and prints as JSON what is wrong with it.
// node browser.mjs TOOLS CHROMIUM NEW_FOLDER URL [SHOTS_FOLDER]; TOOLS holds node_modules.
import { createRequire } from "node:module";
import { join } from "node:path";

const [tools, executablePath, folder, url, shots] = process.argv.slice(2);
const require = createRequire(join(tools, "node_modules", "-"));
const { chromium } = require("playwright-core");
const axe = require("axe-core");

const FLAGS = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync",
];
const VARIANTS = [
  { name: "phone-360-light", width: 360, height: 780, colorScheme: "light" },
  { name: "phone-390-dark", width: 390, height: 844, colorScheme: "dark" },
  { name: "narrow-320-light", width: 320, height: 640, colorScheme: "light" },
  { name: "desktop-1280-light", width: 1280, height: 900, colorScheme: "light" },
  { name: "desktop-1280-dark", width: 1280, height: 900, colorScheme: "dark" },
];
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

// Runs in the page: what sticks out of it, and which links are too small to hit (WCAG 2.2, 2.5.8: 24 px).
function measure() {
  const sizes = [...document.querySelectorAll("a, button, summary")]
    .filter((link) => !link.matches(".skip"))
    .map((link) => [link.textContent.trim(), link.getBoundingClientRect()])
    .filter(([, box]) => box.width < 24 || box.height < 24);
  const page = document.documentElement;
  return {
    sticksOut: page.scrollWidth - page.clientWidth,
    smallTargets: sizes.map(([text, box]) => `${text}: ${box.width} x ${box.height}`),
  };
}

// Runs in the page: the smallest letters that are shown, in points; letters of a picture as it scales them.
function smallestLetters() {
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let least = [99, ""];
  while (walker.nextNode()) {
    const owner = walker.currentNode.parentElement;
    const words = walker.currentNode.textContent.trim();
    if (!words || !owner.getClientRects().length || owner.closest("title, desc, style")) continue;
    const scale = owner.closest("text") ? owner.getScreenCTM().a : 1;
    const points = parseFloat(getComputedStyle(owner).fontSize) * scale * 0.75;
    if (points < least[0]) least = [points, words];
  }
  return least;
}

async function opened(browser, variant, more = {}) {
  const context = await browser.newContext({
    viewport: { width: variant.width, height: variant.height }, colorScheme: variant.colorScheme, ...more,
  });
  const page = await context.newPage();
  const said = [];
  page.on("console", (message) => said.push(`${message.type()}: ${message.text()}`));
  page.on("pageerror", (error) => said.push(`error: ${error.message}`));
  page.on("requestfailed", (request) => said.push(`failed: ${request.url()}`));
  const answer = await page.goto(url, { waitUntil: "load" });
  return { context, page, said, status: answer.status() };
}

// Links and regions that the Tab key reaches, each with the outline it then has.
async function tabbed(page) {
  const found = [];
  for (let count = 0; count < 80; count += 1) {
    await page.keyboard.press("Tab");
    const one = await page.evaluate(() => {
      const here = document.activeElement;
      if (!here || here === document.body) return null;
      const style = getComputedStyle(here);
      const outline = style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth);
      return { what: here.textContent.trim().slice(0, 40), outline };
    });
    if (one === null) break;
    found.push(one);
  }
  return found;
}

async function looked(browser, variant) {
  const { context, page, said, status } = await opened(browser, variant);
  await page.evaluate(axe.source);
  const result = await page.evaluate(
    (tags) => window.axe.run(document, { runOnly: { type: "tag", values: tags } }), TAGS,
  );
  const violations = result.violations.map((one) => ({
    id: one.id, impact: one.impact, nodes: one.nodes.map((node) => node.html.slice(0, 200)),
  }));
  const measured = await page.evaluate(measure);
  const focused = await tabbed(page);
  if (shots) {
    await page.keyboard.press("Escape");
    await page.evaluate(() => { document.activeElement.blur(); scrollTo(0, 0); });
    await page.screenshot({ path: join(shots, `${variant.name}.png`) });
    await page.screenshot({ path: join(shots, `${variant.name}-whole.png`), fullPage: true });
  }
  await context.close();
  return { name: variant.name, status, said, violations, rulesPassed: result.passes.length, focused, ...measured };
}

async function withoutScripts(browser) {
  const variant = VARIANTS[0];
  const pictures = [];
  for (const javaScriptEnabled of [true, false]) {
    const { context, page } = await opened(browser, variant, { javaScriptEnabled });
    pictures.push(await page.screenshot({ fullPage: true }));
    await context.close();
  }
  return pictures[0].equals(pictures[1]);
}

async function printed(browser) {
  const { context, page } = await opened(browser, { width: 740, height: 1000, colorScheme: "dark" });
  await page.emulateMedia({ media: "print" });
  const smallest = await page.evaluate(smallestLetters);
  const text = await page.evaluate(() => document.body.innerText);
  const pages = {};
  for (const format of ["A4", "Letter"]) {
    const path = shots ? join(shots, `${format}.pdf`) : undefined;
    const pdf = (await page.pdf({ format, path, printBackground: format === "A4" })).toString("latin1");
    pages[format] = (pdf.match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length;
  }
  await context.close();
  return { smallest, text, pages };
}

const kept = await chromium.launchPersistentContext(folder, { executablePath, headless: true, args: FLAGS });
const browser = kept.browser();
try {
  const variants = [];
  for (const variant of VARIANTS) variants.push(await looked(browser, variant));
  const found = { variants, sameWithoutScripts: await withoutScripts(browser), print: await printed(browser) };
  process.stdout.write(JSON.stringify(found));
} finally {
  await kept.close();
}
