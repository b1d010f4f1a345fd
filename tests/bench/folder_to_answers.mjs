// How long the page takes from a chosen folder to its answers, against only reading the same bytes in the same
// browser: ratios of one run, since seconds depend on the machine.

import { writeFile } from "node:fs/promises";
import { chooseFolder, openPage, outputFile, waitForPhase } from "../browser/browser.mjs";
import { largeRun, points } from "./large_run.mjs";

const rounds = Number(process.argv[2] ?? 3);
/** A page that does nothing but read what is chosen, eight files at a time. */
const readerPage = `<!doctype html><main data-phase="empty"><input type="file" webkitdirectory multiple aria-label="Choose a sweep folder"></main>
<script>
document.querySelector("input").addEventListener("change", async (event) => {
    const files = [...event.target.files];
    let next = 0, bytes = 0;
    const reader = async () => { while (next < files.length) bytes += (await files[next++].arrayBuffer()).byteLength; };
    await Promise.all(Array.from({ length: 8 }, reader));
    document.querySelector("main").dataset.phase = "ready";
    document.title = String(bytes);
});
</script>`;

/** Notes when a folder is chosen and when every phase begins. Runs in the page before its scripts. */
function watch() {
    globalThis.moments = {};
    document.addEventListener("change", () => (moments.chosen ??= performance.now()), true);
    document.addEventListener("DOMContentLoaded", () => {
        const main = document.querySelector("main");
        new MutationObserver(() => (moments[main.dataset.phase] ??= performance.now())).observe(main, { attributeFilter: ["data-phase"] });
    });
}

async function timed(file, folder) {
    const { page, close } = await openPage({ ...(file && { file }), prepare: watch });
    try {
        await new Promise((resolve) => setTimeout(resolve, 1000));
        await chooseFolder(page, "Choose a sweep folder", folder);
        await waitForPhase(page, "ready", 300_000);
        const moments = await page.evaluate(() => moments);
        return { total: moments.ready - moments.chosen, reading: (moments.computing ?? moments.ready) - moments.chosen };
    } finally {
        await close();
    }
}

const folder = await largeRun();
const reader = outputFile("bench/reader.html");
await writeFile(reader, readerPage);
const rows = [];
for (let round = 0; round < rounds; round++) {
    const only = await timed(reader, folder);
    const all = await timed(undefined, folder);
    rows.push({ only: only.total, read: all.reading, all: all.total, ratio: all.total / only.total });
    console.log(`round ${round + 1}: only reading ${only.total.toFixed(0)} ms; the page read after ${all.reading.toFixed(0)} ms, answered after ${all.total.toFixed(0)} ms; ratio ${(all.total / only.total).toFixed(2)}`);
}
const median = (values) => values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)];
console.log(`4,096 files of ${points} points, from a chosen folder to the answers, against only reading the bytes: median ratio ${median(rows.map((row) => row.ratio)).toFixed(2)} of ${rounds} rounds.`);
