// Technical terms: each is marked where it is first written, and explained on focus, hover and touch.

import assert from "node:assert/strict";
import { test } from "node:test";
import { dropFolder, waitForComparison, waitForPhase } from "./browser.mjs";
import { idealRun, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

/** What is drawn under a term: empty while it is not asked for. */
const drawn = (page, key) =>
    page.$eval(`[data-term="${key}"]`, (term) => {
        const { content, display } = getComputedStyle(term, "::after");
        return content === "none" || display === "none" ? "" : content.slice(1, -1);
    });

async function withRun(use, options = {}) {
    await withFolder(idealRun(), (folder) =>
        withPage(options, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            await waitForComparison(page);
            await use(page);
        }),
    );
}

test("terms stand in the texts, once a block, each with the meaning that the list gives", async () => {
    await withRun(async (page) => {
        const terms = await page.$$eval(".term", (all) =>
            all.map((one) => ({
                key: one.dataset.term,
                block: [...document.querySelectorAll("*")].indexOf(one.closest("form, table, details, .settings, .take-away, [role=status], section.question")),
                meaning: one.dataset.meaning,
                described: document.getElementById(`term-${one.dataset.term}`)?.textContent,
                points: (one.closest("summary") ?? one.closest("label")?.querySelector("input, select") ?? one)
                    .getAttribute("aria-describedby")?.split(" ").includes(`term-${one.dataset.term}`),
            })),
        );
        for (const key of ["vector-error", "reference", "held-words", "chosen-words", "nominal-words", "tolerance", "evm", "clean-bits", "clean-constellation", "usable-band", "design-band"]) {
            assert.ok(terms.some((term) => term.key === key), `${key} is nowhere`);
        }
        for (const { key, meaning, described, points } of terms) {
            assert.equal(described, meaning, key);
            assert.equal(points, true, `what carries ${key} is described by it`);
        }
        const places = terms.map(({ key, block }) => `${block} ${key}`);
        assert.equal(new Set(places).size, places.length, "once a block");
        // The sentence reads as if nothing were marked.
        assert.match(await page.$eval('[data-answer="words"]', (one) => one.textContent), /^At 10 GHz the chosen words serve 100 % of 32 settings within ±0\.5 dB and ±22\.5°; /);
    });
});

test("a meaning shows on focus and on hover, stays while the pointer moves onto it, and Escape puts it away", async () => {
    await withRun(async (page) => {
        assert.equal(await drawn(page, "chosen-words"), "");
        await page.focus('[data-term="chosen-words"]');
        assert.match(await drawn(page, "chosen-words"), /^For each wanted setting, the word whose measured state/);
        await page.keyboard.press("Escape");
        assert.equal(await drawn(page, "chosen-words"), "");
        await page.evaluate(() => document.activeElement.blur());

        await page.$eval('[data-term="chosen-words"]', (one) => one.scrollIntoView({ block: "center" }));
        const box = await (await page.$('[data-term="chosen-words"]')).boundingBox();
        await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
        assert.match(await drawn(page, "chosen-words"), /^For each wanted setting/);
        await page.mouse.move(box.x + box.width / 2, box.y + box.height + 25, { steps: 8 });
        assert.match(await drawn(page, "chosen-words"), /^For each wanted setting/, "the pointer stands on the meaning");
        await page.mouse.move(5, 5);
        assert.equal(await drawn(page, "chosen-words"), "");
    });
});

test("a meaning shows on touch, inside the window at every width", async () => {
    await withRun(async (page) => {
        for (const width of [640, 1280, 2560]) {
            await page.setViewport({ width, height: 720, hasTouch: true });
            await page.$eval('[data-term="chosen-words"]', (one) => one.scrollIntoView({ block: "center" }));
            await (await page.$('[data-term="chosen-words"]')).tap();
            assert.match(await drawn(page, "chosen-words"), /^For each wanted setting/);
            assert.equal(await page.evaluate(() => document.documentElement.scrollWidth > innerWidth), false, `${width} px`);
        }
    }, { viewport: { width: 640, height: 720, hasTouch: true } });
});

/** What is drawn at a term in an element. */
const drawnIn = (page, selector) =>
    page.$eval(`${selector} .term`, (term) => {
        const { content, display } = getComputedStyle(term, "::after");
        return content === "none" || display === "none" ? "" : content;
    });

test("labels, summaries, heads of tables and sentences under plots explain their terms too", async () => {
    await withRun(async (page) => {
        const marked = (selector) => page.$$eval(`${selector} .term`, (all) => all.map((one) => one.dataset.term));
        assert.deepEqual(await marked('label:has(#reference)'), ["reference"]);
        assert.deepEqual(await marked('label:has(#ceiling)'), ["gain-ceiling"]);
        assert.deepEqual(await marked('label:has(#capture-order)'), ["order-of-capture"]);
        assert.ok((await marked("#scores thead")).includes("rms"));
        assert.ok((await marked("#ladder-sentence")).includes("best-fit"));
        assert.ok((await marked("#plane-picked")).includes("state"));
        assert.ok((await marked("summary")).includes("ladder"));
    });
});

test("a term in a label takes no focus and no click from its control, and is no part of its name", async () => {
    await withRun(async (page) => {
        assert.equal(await page.$$eval("label .term, summary .term", (all) => all.filter((one) => one.tabIndex >= 0 || one.tagName !== "SPAN").length), 0);
        assert.equal(await drawnIn(page, "label:has(#ceiling)"), "");
        await page.focus("#ceiling");
        assert.match(await drawnIn(page, "label:has(#ceiling)"), /The most gain that any word/);
        const control = await page.accessibility.snapshot({ root: await page.$("#ceiling") });
        assert.equal(control.name, "Gain ceiling dB of the transmission's own magnitude");
        assert.match(control.description, /The most gain that any word of an exported table may have/);
        await page.keyboard.type("3");
        assert.equal(await drawnIn(page, "label:has(#ceiling)"), "", "typing puts it away");
        await page.evaluate(() => document.activeElement.blur());

        await page.$eval("#ceiling", (one) => one.scrollIntoView({ block: "center" }));
        const word = await page.$("label:has(#ceiling) .term");
        await word.hover();
        assert.match(await drawnIn(page, "label:has(#ceiling)"), /The most gain that any word/);
        await word.click();
        assert.equal(await page.evaluate(() => document.activeElement.id), "ceiling");
    });
});

test("a term in a label shows on touch", async () => {
    await withRun(async (page) => {
        await page.$eval("#ceiling", (one) => one.scrollIntoView({ block: "center" }));
        await (await page.$("label:has(#ceiling) .term")).tap();
        assert.match(await drawnIn(page, "label:has(#ceiling)"), /The most gain that any word/);
        assert.equal(await page.evaluate(() => document.documentElement.scrollWidth > innerWidth), false);
    }, { viewport: { width: 640, height: 720, hasTouch: true } });
});

test("why a row of the specification holds or fails stands beside its verdict", async () => {
    await withRun(async (page) => {
        await page.click("#specification-add");
        // The part is ideal: its gain state error is 0 dB, which no limit of 0.1 dB is below.
        await page.$eval("#specification-rows tr", (row) => {
            row.querySelector("select").selectedIndex = [...row.querySelector("select").options].findIndex((one) => one.text.startsWith("gain state error"));
            const atMost = row.querySelector('[aria-label="At most"]');
            atMost.value = "0.1";
            atMost.dispatchEvent(new Event("change", { bubbles: true }));
        });
        await page.waitForFunction(() => document.querySelector("[data-verdict]")?.textContent === "holds");
        const why = await page.$eval("[data-why]", (one) => ({ text: one.textContent, shown: one.checkVisibility(), hovered: one.closest("td").title }));
        assert.match(why.text, /gain state error.*0\.1/i);
        assert.deepEqual([why.shown, why.hovered], [true, ""]);
    });
});

test("a term keeps the focus while the numbers beside it follow the frequency", async () => {
    await withRun(async (page) => {
        await page.focus('[data-answer="words"] [data-term="chosen-words"]');
        const before = await page.$eval('[data-answer="words"]', (one) => one.textContent);
        await page.$eval("#strip-canvas", (strip) => strip.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight" })));
        await page.waitForFunction((before) => document.querySelector('[data-answer="words"]').textContent !== before, {}, before);
        const after = await page.$eval('[data-answer="words"]', (one) => one.textContent);
        assert.match(after, /^At 10\.5 GHz the chosen words serve /);
        assert.equal(await page.evaluate(() => document.activeElement.dataset.term), "chosen-words");
        const measures = await page.$$eval('[data-answer="words"] .unbroken', (all) => all.map((one) => one.textContent));
        assert.equal(measures[0], "10.5 GHz");
        assert.deepEqual(measures.filter((measure) => !after.includes(measure)), []);
    });
});
