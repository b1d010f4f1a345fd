// A folder in, answers out, by every way in.

import assert from "node:assert/strict";
import { test } from "node:test";
import { setTimeout as pause } from "node:timers/promises";
import { answer, chooseFolder, dropFolder, waitForComparison, waitForPhase } from "./browser.mjs";
import { demoRun, idealRun, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

const keys = ["came-in", "plane", "words", "reach"];
const answers = async (page) => Object.fromEntries(await Promise.all(keys.map(async (key) => [key, await answer(page, key)])));

/** Notes every phase from now on. */
const watchPhases = (page) =>
    page.evaluate(() => {
        const main = document.querySelector("main");
        globalThis.phases = [main.dataset.phase];
        new MutationObserver(() => phases.push(main.dataset.phase)).observe(main, { attributeFilter: ["data-phase"] });
    });

let fromDrop;

test("4,096 dropped files are read, analysed and answered", async () => {
    const folder = await demoRun();
    await withPage({}, async (page) => {
        await watchPhases(page);
        await page.evaluate(() => {
            globalThis.longestGapMs = 0;
            let last = performance.now();
            setInterval(() => {
                const now = performance.now();
                longestGapMs = Math.max(longestGapMs, now - last);
                last = now;
            }, 10);
            // What question 1 says while files are read, and what the progress bar does.
            globalThis.saidWhileReading = [];
            globalThis.progress = [];
            setInterval(() => {
                if (document.querySelector("main").dataset.phase !== "reading") return;
                saidWhileReading.push(document.querySelector("[data-answer=came-in]").textContent);
                progress.push(document.querySelector("#progress-text").textContent);
            }, 20);
        });
        await dropFolder(page, folder);
        await waitForPhase(page, "ready", 120_000);
        assert.deepEqual(await page.evaluate(() => phases), ["empty", "reading", "computing", "ready"]);
        assert.match(await answer(page, "came-in"), /^4,096 words of 12 bits came in, none missing: 161 frequencies from 6 to 14 GHz\.$/);
        const [said, progress, gap] = await page.evaluate(() => [saidWhileReading, progress, longestGapMs]);
        assert.ok(said.some((text) => /^So far [\d,]+ of 4,096 S-parameter files have been read\.$/.test(text)), said.at(-1));
        assert.ok(progress.some((text) => /^Reading: [\d,]+ of 4,096 files, .*MB of .*MB/.test(text)), progress.at(-1));
        console.log(`longest gap of the page's timer while reading and computing: ${gap.toFixed(0)} ms`);
        assert.ok(gap < 1500, `the page stood still for ${gap} ms`);
        await waitForComparison(page);
        fromDrop = await answers(page);
    });
});

test("the demo goes the same way as files", async () => {
    await withPage({ fragment: "demo" }, async (page) => {
        await waitForPhase(page, "ready", 120_000);
        await waitForComparison(page);
        assert.deepEqual(await answers(page), fromDrop);
    });
});

test("a chosen folder gives the same answers as a dropped one", async () => {
    await withFolder(idealRun(), async (folder) => {
        const dropped = await withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            await waitForComparison(page);
            return answers(page);
        });
        await withPage({}, async (page) => {
            await chooseFolder(page, "Choose a sweep folder", folder);
            await waitForPhase(page, "ready");
            await waitForComparison(page);
            assert.deepEqual(await answers(page), dropped);
        });
        assert.match(dropped["came-in"], /^32 words of 5 bits came in, none missing: 9 frequencies from 8 to 12 GHz\.$/);
        assert.match(dropped.words, /^At 10 GHz the chosen words serve 100 % of 32 settings within ±0\.5 dB and ±22\.5°/);
    });
});

test("a run can be cancelled and another begun", async () => {
    const folder = await demoRun();
    await withPage({}, async (page) => {
        await dropFolder(page, folder);
        await page.waitForFunction(() => /^Reading: [1-9]/.test(document.querySelector("#progress-text").textContent));
        await page.click("#cancel");
        await waitForPhase(page, "empty");
        await pause(300);
        assert.equal(await page.$eval("main", (main) => main.dataset.phase), "empty", "nothing goes on after a cancel");
        assert.match(await page.$eval("#message", (one) => one.textContent), /^Cancelled after [\d,]+ files?\. /);
        await withFolder(idealRun(), async (small) => {
            await dropFolder(page, small);
            await waitForPhase(page, "ready");
            assert.match(await answer(page, "came-in"), /^32 words/);
        });
    });
});

test("a second folder replaces the first, settings included", async () => {
    await withPage({}, async (page) => {
        await withFolder(idealRun(), async (folder) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            await page.select("#reference", "full ring");
            await page.waitForFunction(() => document.querySelector("[data-answer=plane]").textContent.includes("full ring"));
            await page.evaluate(() => scrollTo(0, 0));
            await dropFolder(page, folder);
            await page.waitForFunction(() => document.querySelector("[data-answer=plane]").textContent.includes("zero word"));
        });
    });
});
