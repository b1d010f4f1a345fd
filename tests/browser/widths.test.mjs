// The page fits the window: no sideways scrolling from 200 % zoom up to a wide screen, with names of 200 characters.

import assert from "node:assert/strict";
import { test } from "node:test";
import { dropFolder, waitForComparison, waitForPhase } from "./browser.mjs";
import { idealRun, name, sweep, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

/** 1280 × 720 at 200 % zoom is a window of 640 × 360. */
const windows = [[640, 360], [1280, 720], [1920, 1080], [2560, 1440]];

/** What makes the page wider than its window. */
const sticksOut = (page) =>
    page.evaluate(() => {
        const width = document.documentElement.clientWidth;
        const isInScroller = (one) => {
            for (let at = one.parentElement; at !== document.body && at; at = at.parentElement) if (getComputedStyle(at).overflowX !== "visible") return true;
            return false;
        };
        if (document.documentElement.scrollWidth <= width) return [];
        const wide = [...document.querySelectorAll("body *")]
            .filter((one) => one.checkVisibility() && one.getBoundingClientRect().right > width + 1 && !isInScroller(one))
            .map((one) => `${one.tagName}#${one.id}.${one.className} ${one.getBoundingClientRect().right}`)
            .slice(0, 8);
        return [`${document.documentElement.scrollWidth} px wide`, ...wide];
    });

async function checkWidths(page, what) {
    await page.$$eval("details", (all) => all.forEach((one) => (one.open = true)));
    for (const [width, height] of windows) {
        await page.setViewport({ width, height });
        assert.deepEqual(await sticksOut(page), [], `${what}: ${width} × ${height}`);
        const small = await page.$$eval("p, li, td, th, label, figcaption, button", (all) =>
            all.filter((one) => one.checkVisibility() && !one.closest("#paper-sheet") && Number.parseFloat(getComputedStyle(one).fontSize) < 12).map((one) => one.textContent.slice(0, 40)),
        );
        assert.deepEqual(small, [], "text under 12 px");
    }
}

test("the empty page and the demo fit every window", async () => {
    await withPage({}, async (page) => {
        await checkWidths(page, "empty");
        await page.click("#run-demo");
        await waitForPhase(page, "ready", 120_000);
        await waitForComparison(page);
        await checkWidths(page, "the demo");
    });
});

test("names of 200 characters fit every window", async () => {
    // Words of files in folders of long names, one left out, a part and an operator of long names.
    const long = "m".repeat(200);
    const files = Object.fromEntries(Object.entries(idealRun()).map(([file, text]) => [`${long}/${file}`, text]));
    files[`${long}/${"stray".repeat(40)}.s2p`] = "no numbers";
    files[`${long}/${name(3)}`] = sweep(3, { points: 5 });
    await withFolder(files, (folder) =>
        withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            await waitForComparison(page);
            for (const id of ["part-name", "operator"]) {
                await page.click(`#${id}`);
                await page.keyboard.type("W".repeat(80));
            }
            await checkWidths(page, "long names");
        }),
    );
});
