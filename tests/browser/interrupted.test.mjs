// A save that needs a worker ends with a sentence when the worker dies under it, and can be tried again.

import assert from "node:assert/strict";
import { test } from "node:test";
import { dropFolder, saveExport, waitForPhase } from "./browser.mjs";
import { idealRun, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

/** While `deadly` is set, the next worker that is asked something stops instead, as after a panic. */
function dieWhenAsked() {
    const Real = Worker;
    globalThis.deadly = false;
    globalThis.deaths = 0;
    globalThis.Worker = class extends Real {
        postMessage(...message) {
            if (!deadly) return super.postMessage(...message);
            globalThis.deadly = false;
            globalThis.deaths += 1;
            this.terminate();
            setTimeout(() => this.dispatchEvent(new ErrorEvent("error")));
        }
    };
}

for (const name of ["word-table.csv", "states.csv", "run.npz", "relative-gain.png"]) {
    test(`${name} is refused with a sentence when a worker dies, and made at the next try`, async () => {
        await withFolder(idealRun(), (folder) =>
            withPage({ prepare: dieWhenAsked }, async (page) => {
                await dropFolder(page, folder);
                await waitForPhase(page, "ready");
                await page.select("#table-rows", "band");
                // Pictures of the page itself are counted by workers too; they are done once nothing is drawn anew.
                await page.waitForNetworkIdle({ idleTime: 300 });
                await page.evaluate((name) => {
                    globalThis.deadly = true;
                    document.querySelector(`[data-export="${name}"]`).click();
                }, name);
                await page.waitForFunction(() => !document.querySelector("#export-refusal").hidden, { timeout: 10_000 });
                const said = await page.$eval("#export-refusal", (one) => one.textContent);
                assert.equal(said, `${name} was not made: the run or its settings changed meanwhile, or a worker stopped. Try again when the answers are there.`);
                assert.equal(await page.evaluate(() => deaths), 1);
                assert.equal(await page.$eval("#export-status", (one) => one.textContent), "");
                await waitForPhase(page, "ready");
                assert.ok((await saveExport(page, name)).length > 100);
                assert.ok(await page.$eval("#export-refusal", (one) => one.hidden));
            }),
        );
    });
}
