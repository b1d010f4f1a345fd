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

test("terms stand in the sentences, once a section, each with the meaning that the list gives", async () => {
    await withRun(async (page) => {
        const terms = await page.$$eval(".term", (all) =>
            all.map((one) => ({
                key: one.dataset.term,
                section: one.closest("section").id,
                meaning: one.dataset.meaning,
                described: document.getElementById(one.getAttribute("aria-describedby"))?.textContent,
            })),
        );
        for (const key of ["vector-error", "reference", "held-words", "chosen-words", "nominal-words", "tolerance", "evm", "clean-bits", "clean-constellation", "usable-band", "design-band"]) {
            assert.ok(terms.some((term) => term.key === key), `${key} is nowhere`);
        }
        for (const { key, meaning, described } of terms) assert.equal(described, meaning, key);
        const places = terms.map(({ key, section }) => `${section} ${key}`);
        assert.equal(new Set(places).size, places.length, "once a section");
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
