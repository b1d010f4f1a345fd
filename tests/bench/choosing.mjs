// Choosing and scoring at all frequencies, in the page with its workers, against scipy's k-d tree and numpy in one process;
// and the best fit of every frequency against that step. Sides take turns in one run.

import { execFile } from "node:child_process";
import { readFile } from "node:fs/promises";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { chooseFolder, openPage, waitForComparison } from "../browser/browser.mjs";
import { largeRun, points } from "./large_run.mjs";

const rounds = Number(process.argv[2] ?? 3);
const repository = fileURLToPath(new URL("../..", import.meta.url));

/** The kinds of requests in the order of their numbers, which are the first byte of a message. */
const source = await readFile(path.join(repository, "src/pipeline/protocol.rs"), "utf8");
const kinds = [.../pub enum Request \{\n(.*?)\n\}/s.exec(source)[1].matchAll(/^ {4}(\w+)/gm)].map((found) => found[1]);

/** Notes when requests go to workers and when replies come. Runs in the page before its scripts. */
function watch() {
    globalThis.spans = {};
    const kindOf = new Map();
    const post = Worker.prototype.postMessage;
    Worker.prototype.postMessage = function (message, ...rest) {
        if (message?.body) {
            kindOf.set(message.id, message.body[0]);
            const span = (spans[message.body[0]] ??= { from: performance.now() });
            span.to ??= span.from;
        }
        return post.call(this, message, ...rest);
    };
    const note = (event) => {
        const span = spans[kindOf.get(event.data?.id)];
        if (span) span.to = performance.now();
    };
    const { Worker: Plain } = globalThis;
    globalThis.Worker = class extends Plain {
        constructor(...given) {
            super(...given);
            this.addEventListener("message", note);
        }
    };
}

async function inPage(folder) {
    const { page, close } = await openPage({ prepare: watch });
    try {
        await chooseFolder(page, "Choose a sweep folder", folder);
        await waitForComparison(page, 600_000);
        const spans = await page.evaluate(() => spans);
        const taken = (kind) => spans[kinds.indexOf(kind)].to - spans[kinds.indexOf(kind)].from;
        return { choosing: taken("Analyse"), fitting: taken("Fit") };
    } finally {
        await close();
    }
}

const folder = await largeRun();
const rows = [];
for (let round = 0; round < rounds; round++) {
    const { choosing, fitting } = await inPage(folder);
    const { stdout } = await promisify(execFile)(path.join(repository, "tests/.venv/bin/python"), [path.join(repository, "tests/bench/choosing.py"), folder]);
    const tree = 1000 * Number.parseFloat(stdout);
    rows.push({ tree: tree / choosing, fit: fitting / choosing });
    console.log(`round ${round + 1}: page ${choosing.toFixed(0)} ms, k-d tree ${stdout.trim()}, ratio ${(tree / choosing).toFixed(2)}; best fit at each frequency ${fitting.toFixed(0)} ms, ratio ${(fitting / choosing).toFixed(2)}`);
}
const told = (values) => {
    const sorted = values.toSorted((a, b) => a - b);
    return `${sorted[Math.floor(sorted.length / 2)].toFixed(2)} (${sorted[0].toFixed(2)} to ${sorted.at(-1).toFixed(2)})`;
};
console.log(`4,096 words at ${points} points, ${rounds} rounds: the k-d tree and numpy take ${told(rows.map((row) => row.tree))} times as long as the page; the best fit of every frequency ${told(rows.map((row) => row.fit))} times as long as choosing and scoring.`);
