// The built page in Chromium, opened from its file as the user opens it, and what a user does there.
//
// Every helper takes puppeteer's `page`; the page's promises to scripts (`data-phase`, `data-answer`, and export
// buttons named after their files) are all that they know of its markup.

import { execFile } from "node:child_process";
import { mkdir, mkdtemp, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { setTimeout as pause } from "node:timers/promises";
import { fileURLToPath, pathToFileURL } from "node:url";
import { promisify } from "node:util";
import puppeteer from "puppeteer-core";

const repository = fileURLToPath(new URL("../..", import.meta.url));
const outputFolder = path.join(repository, "tests/out");

/** The page as `www/build` leaves it. */
export const builtPage = path.join(repository, "www/dist/sweepfold.html");

/**
 * Opens the page in a browser of its own.
 *
 * `prepare` is a function that runs in the page before any of its scripts; `flags` go to the browser.
 * A `viewport` that takes touch has to be given here, since switching to it loads the page again.
 * The lists in the answer grow as long as the page is open:
 * - `finishedRequests`: the URL of every request that was answered, by the page or one of its workers;
 * - `consoleErrors`: errors and warnings written to the console, and uncaught errors;
 * - `violations()`: what the content security policy blocked on the page so far, as `directive blocked-URI`.
 */
export async function openPage({ file = builtPage, fragment = "", prepare, flags = [], viewport = { width: 1280, height: 720 } } = {}) {
    const browser = await puppeteer.launch({
        executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
        headless: true,
        defaultViewport: viewport,
        protocolTimeout: 600_000,
        args: [
            ...(process.getuid?.() === 0 ? ["--no-sandbox"] : []),
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            ...flags,
        ],
    });
    const page = await browser.newPage();
    const finishedRequests = [];
    const consoleErrors = [];
    page.on("requestfinished", (request) => finishedRequests.push(request.url()));
    page.on("pageerror", (error) => consoleErrors.push(String(error)));
    page.on("console", (message) => {
        if (["error", "warn"].includes(message.type())) consoleErrors.push(message.text());
    });
    await page.evaluateOnNewDocument(() => {
        globalThis.policyViolations = [];
        document.addEventListener("securitypolicyviolation", (event) =>
            policyViolations.push(`${event.effectiveDirective} ${event.blockedURI}`),
        );
    });
    if (prepare) await page.evaluateOnNewDocument(prepare);
    const address = pathToFileURL(file);
    address.hash = fragment;
    await page.goto(address.href);
    return {
        page,
        finishedRequests,
        consoleErrors,
        violations: () => page.evaluate(() => policyViolations),
        close: () => browser.close(),
    };
}

/** Drops files or folders onto the middle of the page, as from a file manager. */
export async function dropFolder(page, ...paths) {
    const client = await page.createCDPSession();
    const { width, height } = page.viewport();
    const data = { items: [], files: paths.map((one) => path.resolve(one)), dragOperationsMask: 1 };
    for (const type of ["dragEnter", "dragOver", "drop"]) {
        await client.send("Input.dispatchDragEvent", { type, x: width / 2, y: height / 2, data });
    }
    await client.detach();
}

/**
 * Chooses a folder in the file input of that label. The browser lists the folder after this returns: wait for a
 * phase or an answer.
 */
export async function chooseFolder(page, label, folder) {
    const input = await page.evaluateHandle((wanted) => {
        const text = (element) => element.textContent.replace(/\s+/g, " ").trim();
        return [...document.querySelectorAll("input[type=file]")].find(
            (one) => one.ariaLabel === wanted || [...one.labels].some((label) => text(label) === wanted),
        );
    }, label);
    const element = input.asElement();
    if (!element) throw new Error(`no file input is labelled "${label}"`);
    await element.uploadFile(path.resolve(folder));
}

/** Waits until `<main>` is in the phase; fails with the page's own words if it ends in `failed` instead. */
export async function waitForPhase(page, phase, timeoutMs = 60_000) {
    const end = Date.now() + timeoutMs;
    for (;;) {
        const [now, words] = await page.$eval("main", (main) => [
            main.dataset.phase,
            main.innerText.slice(0, 1000),
        ]);
        if (now === phase) return;
        if (now === "failed") throw new Error(`the page failed on its way to "${phase}":\n${words}`);
        if (Date.now() > end) throw new Error(`still "${now}", not "${phase}", after ${timeoutMs} ms:\n${words}`);
        await pause(50);
    }
}

/** Waits until the checks of the run are complete, which follow the answers. */
export async function waitForChecks(page, timeoutMs = 120_000) {
    await page.waitForSelector('#trust[data-checked="yes"]', { timeout: timeoutMs });
}

/** Waits until the references are compared too, which comes last. */
export async function waitForComparison(page, timeoutMs = 240_000) {
    await page.waitForSelector('#words[data-compared="yes"]', { timeout: timeoutMs });
}

/** The answer sentence of a question, its white space made single spaces. */
export async function answer(page, key) {
    return page.$eval(`[data-answer="${key}"]`, (one) => one.textContent.replace(/\s+/g, " ").trim());
}

/**
 * Presses the button that is named after the file, and returns the file's bytes. By key: a pointer aims at where the
 * button stood before an answer that comes in moved it.
 */
export async function saveExport(page, fileName, timeoutMs = 60_000) {
    const folder = await mkdtemp(path.join(tmpdir(), "sweepfold-export-"));
    const client = await page.browser().target().createCDPSession();
    try {
        const saved = new Promise((resolve, reject) => {
            let suggested;
            client.on("Browser.downloadWillBegin", (event) => (suggested = event.suggestedFilename));
            client.on("Browser.downloadProgress", (event) => {
                if (event.state === "completed") resolve(suggested);
                if (event.state === "canceled") reject(new Error(`the browser cancelled ${fileName}`));
            });
        });
        await client.send("Browser.setDownloadBehavior", {
            behavior: "allow",
            downloadPath: folder,
            eventsEnabled: true,
        });
        const button = await page.$(`::-p-aria([name="${fileName}"][role="button"])`);
        if (!button) throw new Error(`no button is named ${fileName}`);
        await button.focus();
        await page.keyboard.press("Enter");
        const late = pause(timeoutMs, undefined, { ref: false }).then(async () => {
            throw new Error(`${fileName} was not saved within ${timeoutMs} ms; ${await saidOfExports(page)}`);
        });
        const name = await Promise.race([saved, late]);
        if (name !== fileName) throw new Error(`the button ${fileName} saves a file named ${name}`);
        return await readFile(path.join(folder, fileName));
    } finally {
        await client.detach();
        await rm(folder, { recursive: true });
    }
}

/**
 * Presses buttons in one go, without waiting for any, keeps the page busy for some time, and returns the names of the files
 * that come, in their order.
 */
export async function saveAtOnce(page, fileNames, { expected = fileNames.length, busyMs = 0, timeoutMs = 30_000 } = {}) {
    const folder = await mkdtemp(path.join(tmpdir(), "sweepfold-export-"));
    const client = await page.browser().target().createCDPSession();
    try {
        const [names, saved] = [{}, []];
        const all = new Promise((resolve) => {
            client.on("Browser.downloadWillBegin", (event) => (names[event.guid] = event.suggestedFilename));
            client.on("Browser.downloadProgress", (event) => {
                if (event.state === "completed") saved.push(names[event.guid]);
                if (saved.length === expected) resolve();
            });
        });
        await client.send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: folder, eventsEnabled: true });
        const press = (names, busyMs) => {
            names.forEach((name) => document.querySelector(`[data-export="${name}"]`).click());
            for (const until = performance.now() + busyMs; performance.now() < until; );
        };
        await page.evaluate(press, fileNames, busyMs);
        await Promise.race([all, pause(timeoutMs, undefined, { ref: false })]);
        return saved;
    } finally {
        await client.detach();
        await rm(folder, { recursive: true });
    }
}

/** What the page says of its exports, and which element has the focus. */
async function saidOfExports(page) {
    return page.evaluate(() => {
        const said = ["export-status", "export-refusal"].map((id) => document.getElementById(id).textContent);
        return `the page says “${said.join("” and “")}”, the focus is on ${document.activeElement.outerHTML.slice(0, 80)}`;
    });
}

/** Prints the page as the browser's print command does, with the page's own paper size. */
export async function printToPdf(page, file) {
    await mkdir(path.dirname(file), { recursive: true });
    await page.pdf({ path: file, preferCSSPageSize: true, printBackground: true, format: "a4", timeout: 600_000 });
    return file;
}

/** How many pages a PDF has, as poppler's pdfinfo counts them. */
export async function pdfPageCount(file) {
    const { stdout } = await promisify(execFile)("pdfinfo", [file]);
    return Number(/^Pages:\s+(\d+)$/m.exec(stdout)[1]);
}

/** Where a test leaves a file for people to look at: `tests/out/`. */
export function outputFile(name) {
    return path.join(outputFolder, name);
}

/** The whole page as `tests/out/<name>.png`. */
export async function screenshot(page, name) {
    await mkdir(outputFolder, { recursive: true });
    const file = outputFile(`${name}.png`);
    await page.screenshot({ path: file, fullPage: true });
    return file;
}
