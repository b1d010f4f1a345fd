// Without workers, and with workers that stop, the answers are the same.

import assert from "node:assert/strict";
import { test } from "node:test";
import { answer, dropFolder, waitForChecks, waitForPhase } from "./browser.mjs";
import { demoRun } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

async function wordsAnswer(prepare) {
    const folder = await demoRun();
    return withPage({ prepare }, async (page) => {
        await dropFolder(page, folder);
        await waitForPhase(page, "ready", 240_000);
        // What tables for the band cost is said last.
        await waitForChecks(page, 240_000);
        return [await answer(page, "came-in"), await answer(page, "words"), await page.evaluate(() => globalThis.workersMade)];
    });
}

/** Counts workers, as a function that runs in the page before its scripts. */
function countWorkers() {
    const Real = Worker;
    globalThis.workersMade = 0;
    globalThis.Worker = class extends Real {
        constructor(url) {
            super(url);
            workersMade += 1;
        }
    };
}

function refuseWorkers() {
    globalThis.workersMade = 0;
    globalThis.Worker = class {
        constructor() {
            throw new Error("workers are refused");
        }
    };
}

/** The first worker stops in the middle of reading, as after a panic. */
function stopOneWorker() {
    const Real = Worker;
    globalThis.workersMade = 0;
    globalThis.Worker = class extends Real {
        constructor(url) {
            super(url);
            workersMade += 1;
            if (workersMade === 1) {
                let answers = 0;
                this.addEventListener("message", () => {
                    answers += 1;
                    if (answers === 20) {
                        this.terminate();
                        this.dispatchEvent(new ErrorEvent("error"));
                    }
                });
            }
        }
    };
}

let expected;

test("with workers", async () => {
    const [cameIn, words, made] = await wordsAnswer(countWorkers);
    assert.ok(made >= 1, "workers do the work");
    expected = [cameIn, words];
});

test("without workers the page does the work in turn", async () => {
    const [cameIn, words, made] = await wordsAnswer(refuseWorkers);
    assert.equal(made, 0);
    assert.deepEqual([cameIn, words], expected);
});

test("a worker that stops is replaced and its files are read again", async () => {
    const [cameIn, words, made] = await wordsAnswer(stopOneWorker);
    assert.ok(made >= 2, `${made} workers were made`);
    assert.deepEqual([cameIn, words], expected);
});
