// The frequency strip: by pointer, by keyboard, typed; everything follows.

import assert from "node:assert/strict";
import { test } from "node:test";
import { answer, dropFolder, waitForPhase } from "./browser.mjs";
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

test("a typed frequency goes to the nearest measured one", async () => {
    await withRun(async (page) => {
        await page.click("#frequency", { count: 3 });
        await page.keyboard.type("11.2");
        await page.keyboard.press("Enter");
        await becomes(page, 11);
        assert.match(await answer(page, "words"), /^At 11 GHz /);
    });
});
