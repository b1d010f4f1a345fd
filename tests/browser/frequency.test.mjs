// The frequency strip: by pointer, by keyboard, typed; everything follows.

import assert from "node:assert/strict";
import { test } from "node:test";
import { answer, dropFolder, waitForChecks, waitForPhase } from "./browser.mjs";
import { idealRun, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

const value = (page) => page.$eval("#strip-canvas", (one) => Number(one.ariaValueNow ?? one.getAttribute("aria-valuenow")));
const becomes = (page, ghz) =>
    page.waitForFunction((ghz) => Number(document.querySelector("#strip-canvas").getAttribute("aria-valuenow")) === ghz, {}, ghz);

async function withRun(use) {
    await withFolder(idealRun(), (folder) =>
        withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            // What the checks find moves what is below it, and a pointer would miss.
            await waitForChecks(page);
            await use(page);
        }),
    );
}

test("keys move by grid points, page keys by ten, Home and End to the ends", async () => {
    await withRun(async (page) => {
        assert.equal(await value(page), 10, "the centre of 8 to 12 GHz");
        await page.focus("#strip-canvas");
        for (const [key, ghz] of [["ArrowRight", 10.5], ["ArrowUp", 11], ["ArrowLeft", 10.5], ["PageUp", 12], ["PageDown", 8], ["End", 12], ["ArrowRight", 12], ["Home", 8], ["ArrowLeft", 8]]) {
            await page.keyboard.press(key);
            await becomes(page, ghz);
        }
        assert.match(await answer(page, "words"), /^At 8 GHz /);
        assert.match(await answer(page, "plane"), /^At 8 GHz /);
    });
});

test("the pointer chooses the frequency while it is dragged", async () => {
    await withRun(async (page) => {
        const box = await (await page.$("#strip-canvas")).boundingBox();
        const y = box.y + box.height / 2;
        await page.mouse.move(box.x + box.width / 2, y);
        await page.mouse.down();
        await page.mouse.move(box.x + box.width, y, { steps: 5 });
        await becomes(page, 12);
        // With the button still down everything there is told and drawn.
        for (const key of ["words", "plane"]) assert.match(await answer(page, key), /^At 12 GHz /);
        assert.match(await page.$eval("#plane-caption", (one) => one.textContent), /^Every state at 12 GHz,/);
        for (const figure of ["error", "share", "gain"]) {
            assert.match(await page.$eval(`#${figure}-canvas`, (one) => one.ariaLabel), /: at 12 GHz /, figure);
        }
        await page.mouse.move(box.x, y, { steps: 5 });
        await becomes(page, 8);
        await page.mouse.up();
        await page.mouse.move(box.x + box.width, y);
        assert.equal(await value(page), 8, "a released pointer drags nothing");
    });
});

test("with Shift the pointer drags out the design band", async () => {
    await withRun(async (page) => {
        const box = await (await page.$("#strip-canvas")).boundingBox();
        const y = box.y + box.height / 2;
        await page.keyboard.down("Shift");
        await page.mouse.move(box.x + box.width / 2, y);
        await page.mouse.down();
        await page.mouse.move(box.x + box.width, y, { steps: 5 });
        await page.mouse.up();
        await page.keyboard.up("Shift");
        await page.waitForFunction(() => Number(document.querySelector("#band-high").value) === 12 && Number(document.querySelector("#band-low").value) > 8);
        // Without a chosen frequency the band's centre is shown.
        await page.waitForFunction(() => Number(document.querySelector("#strip-canvas").getAttribute("aria-valuenow")) > 10);
    });
});

const ends = (page) =>
    page.evaluate(() => ["low", "high"].map((end) => Number(document.querySelector(`#band-${end}-grip`).getAttribute("aria-valuenow"))));
const bandBecomes = (page, wanted) =>
    page.waitForFunction(
        (wanted) => ["low", "high"].every((end, at) => Number(document.querySelector(`#band-${end}-grip`).getAttribute("aria-valuenow")) === wanted[at]),
        {},
        wanted,
    );

test("the ends of the design band are dragged by their grips, and everything follows meanwhile", async () => {
    await withRun(async (page) => {
        assert.deepEqual(await ends(page), [8, 12]);
        const box = await (await page.$("#strip-canvas")).boundingBox();
        const middle = async (id) => {
            const { x, y, width, height } = await (await page.$(id)).boundingBox();
            return [x + width / 2, y + height / 2];
        };
        const [low, row] = await middle("#band-low-grip");
        const [high] = await middle("#band-high-grip");
        assert.ok(low > box.x && high < box.x + box.width && low < high, "the grips stand on the strip");
        await page.mouse.move(low, row);
        await page.mouse.down();
        await page.mouse.move(low + (high - low) / 4, row, { steps: 5 });
        await bandBecomes(page, [9, 12]);
        await page.waitForFunction(() => document.querySelector('[data-answer="parts"]').textContent.startsWith("From 9 to 12 GHz"));
        // Past the other end the ends change places.
        await page.mouse.move(high + 30, row, { steps: 5 });
        await bandBecomes(page, [12, 12]);
        await page.mouse.move(low, row, { steps: 5 });
        await bandBecomes(page, [8, 12]);
        await page.mouse.up();
        await page.mouse.move(high, row, { steps: 5 });
        assert.deepEqual(await ends(page), [8, 12], "a released pointer drags nothing");
    });
});

test("a drag along the bar above the strip draws a new design band", async () => {
    await withRun(async (page) => {
        const grip = await (await page.$("#band-low-grip")).boundingBox();
        const high = await (await page.$("#band-high-grip")).boundingBox();
        const [from, to] = [grip.x + grip.width / 2, high.x + high.width / 2];
        const y = grip.y + grip.height / 2;
        await page.mouse.move(from + 0.25 * (to - from), y);
        assert.equal(await page.$eval("#strip-canvas", (one) => getComputedStyle(one).cursor), "crosshair");
        await page.mouse.down();
        await page.mouse.move(from + 0.75 * (to - from), y, { steps: 5 });
        await page.mouse.up();
        await bandBecomes(page, [9, 11]);
        assert.equal(await value(page), 10, "the frequency stays");
    });
});

test("keys move the ends of the design band, each up to the other", async () => {
    await withRun(async (page) => {
        await page.focus("#band-low-grip");
        for (const [key, low] of [["ArrowRight", 8.5], ["ArrowUp", 9], ["ArrowLeft", 8.5], ["Home", 8], ["PageUp", 12], ["PageDown", 8], ["End", 12], ["ArrowRight", 12], ["Home", 8]]) {
            await page.keyboard.press(key);
            await bandBecomes(page, [low, 12]);
        }
        await page.focus("#band-high-grip");
        for (const [key, high] of [["ArrowLeft", 11.5], ["PageDown", 8], ["ArrowRight", 8.5], ["End", 12]]) {
            await page.keyboard.press(key);
            await bandBecomes(page, [8, high]);
        }
        await page.waitForFunction(() => document.querySelector("#band-low").value === "8" && document.querySelector("#band-high").value === "12");
    });
});

test("a typed design band moves the grips", async () => {
    await withRun(async (page) => {
        await page.click("#band-low", { count: 3 });
        await page.keyboard.type("9.1");
        await page.keyboard.press("Enter");
        // The first point measured inside it.
        await bandBecomes(page, [9.5, 12]);
    });
});

test("a typed frequency goes to the nearest measured one", async () => {
    await withRun(async (page) => {
        await page.click("#frequency", { count: 3 });
        await page.keyboard.type("11.2");
        await page.keyboard.press("Enter");
        await becomes(page, 11);
        assert.match(await answer(page, "words"), /^At 11 GHz /);
    });
});

test("a typed frequency that was not measured is replaced by the nearest, and the page says so", async () => {
    await withRun(async (page) => {
        const type = async (ghz) => {
            await page.click("#frequency", { count: 3 });
            await page.keyboard.type(ghz);
            await page.keyboard.press("Enter");
        };
        const said = () => page.$eval("#frequency-nearest", (one) => one.textContent);
        const typed = () => page.$eval("#frequency", (one) => one.value);
        await type("10.3");
        await becomes(page, 10.5);
        assert.deepEqual([await typed(), await said()], ["10.5", "Nearest measured to 10.3 GHz."]);
        await type("99");
        await becomes(page, 12);
        assert.deepEqual([await typed(), await said()], ["12", "Nearest measured to 99 GHz."]);
        await type("9");
        await becomes(page, 9);
        assert.deepEqual([await typed(), await said()], ["9", ""]);
        // By a key the frequency is another, and what was said of it is gone.
        await type("10.3");
        await becomes(page, 10.5);
        assert.equal(await said(), "Nearest measured to 10.3 GHz.");
        await page.focus("#strip-canvas");
        await page.keyboard.press("ArrowLeft");
        await becomes(page, 10);
        assert.equal(await said(), "");
    });
});

test("while the frequency moves, what is said of a signal stands until the next is known", async () => {
    await withRun(async (page) => {
        await page.waitForFunction(() => /at 10 GHz/.test(document.querySelector("[data-answer='use']").textContent));
        await page.$eval("#use", (section) => section.scrollIntoView());
        await page.evaluate(() => {
            const told = (window.told = []);
            const answer = document.querySelector("[data-answer='use']");
            const look = () => told.push(answer.textContent);
            new MutationObserver(look).observe(answer, { childList: true, subtree: true, characterData: true });
        });
        await page.focus("#strip-canvas");
        for (const ghz of [10.5, 11, 11.5, 12]) {
            await page.keyboard.press("ArrowRight");
            await becomes(page, ghz);
        }
        await page.waitForFunction(() => /at 12 GHz/.test(document.querySelector("[data-answer='use']").textContent));
        const told = await page.evaluate(() => window.told);
        assert.ok(told.length > 0);
        for (const text of told) assert.doesNotMatch(text, /not worked out yet/);
    });
});

test("the strip's numbers hang under it and take it no height", async () => {
    await withRun(async (page) => {
        await page.$eval("#words", (section) => section.scrollIntoView());
        const height = () => page.$eval("#strip", (strip) => strip.getBoundingClientRect().height);
        const before = await height();
        await page.click("#strip-numbers > summary");
        await page.waitForSelector("#strip-numbers-table td");
        assert.equal(await height(), before);
        const [head, ...rows] = await page.$$eval("#strip-numbers-table tr", (all) => all.map((row) => [...row.cells].map((cell) => cell.textContent)));
        assert.deepEqual(head, ["Frequency", "Chosen words within tolerance", "Design band", "Usable band"]);
        // The part is ideal, and its design band is the whole grid.
        assert.deepEqual(rows[0], ["8 GHz", "100 %", "yes", "yes"]);
        assert.equal(rows.length, 9);
        const inside = await page.$eval("#strip-numbers-frame", (frame) => {
            const { left, right, bottom } = frame.getBoundingClientRect();
            return left >= 0 && right <= innerWidth && bottom <= innerHeight;
        });
        assert.ok(inside);
        await page.keyboard.press("Escape");
        assert.equal(await page.$eval("#strip-numbers", (one) => one.open), false);
    });
});
