// A run leaves the page as one file and comes back as the same run.

import assert from "node:assert/strict";
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { test } from "node:test";
import { fileURLToPath } from "node:url";
import { answer, dropFolder, openPage, saveExport, waitForChecks, waitForPhase } from "./browser.mjs";

const sample = fileURLToPath(new URL("../../samples/attenuator-5-bit", import.meta.url));

test("run.npz is saved, dropped, and gives the same answers", async () => {
    const folder = await mkdtemp(path.join(tmpdir(), "sweepfold-run-"));
    const first = await openPage();
    const second = await openPage();
    try {
        await dropFolder(first.page, sample);
        await waitForPhase(first.page, "ready");
        const states = (await saveExport(first.page, "states.csv")).toString();
        const saved = await saveExport(first.page, "run.npz");
        assert.equal(states.trim().split("\n").length, 33);
        for (const name of ["plane.svg", "errors.svg", "share-within-tolerance.svg", "bit-weights.svg"]) {
            assert.match((await saveExport(first.page, name)).toString(), /^<svg .*<\/svg>\s*$/s);
        }

        const file = path.join(folder, "run.npz");
        await writeFile(file, saved);
        await dropFolder(second.page, file);
        await waitForPhase(second.page, "ready");
        await waitForChecks(first.page);
        await waitForChecks(second.page);
        for (const key of ["came-in", "plane", "words"]) {
            assert.equal(await answer(second.page, key), await answer(first.page, key));
        }
        assert.equal((await saveExport(second.page, "states.csv")).toString(), states);
        assert.deepEqual(await saveExport(second.page, "run.npz"), saved);

        saved[1000] ^= 1;
        await writeFile(file, saved);
        await dropFolder(second.page, file);
        // The run that stood before stands again, with the reason.
        await second.page.waitForFunction(() => document.querySelector("#message").textContent.includes("checksum is wrong"));
        await waitForPhase(second.page, "ready");
        for (const { consoleErrors, violations } of [first, second]) {
            assert.deepEqual(consoleErrors, []);
            assert.deepEqual(await violations(), []);
        }
    } finally {
        await first.close();
        await second.close();
        await rm(folder, { recursive: true });
    }
});
