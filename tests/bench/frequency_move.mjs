// How long the page takes from a key that moves the frequency to the picture of the states there: plane, errors and their
// answer sentences, all drawn and written. Measured against one picture of a screen that shows sixty a second.

import { chooseFolder, openPage, waitForComparison, waitForPhase } from "../browser/browser.mjs";
import { largeRun, points } from "./large_run.mjs";

const moves = Number(process.argv[2] ?? 40);
const pictureMs = 1000 / 60;

/** Presses the key, and tells when the handler that wrote the last of it is done. */
const moveOnce = (key) =>
    new Promise((resolve) => {
        const strip = document.querySelector("#strip-canvas");
        const before = strip.getAttribute("aria-valuenow");
        const watch = new MutationObserver(() => {
            if (strip.getAttribute("aria-valuenow") === before) return;
            watch.disconnect();
            resolve(performance.now() - pressed);
        });
        watch.observe(strip, { attributeFilter: ["aria-valuenow"] });
        const pressed = performance.now();
        strip.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
    });

const folder = await largeRun();
const { page, close } = await openPage();
try {
    await chooseFolder(page, "Choose a sweep folder", folder);
    await waitForPhase(page, "ready", 300_000);
    await waitForComparison(page, 600_000);
    await page.$eval("#plane", (section) => section.scrollIntoView());
    for (const pauseMs of [0, 100, 250, 600]) {
        const taken = [];
        for (let move = 0; move < moves; move++) {
            taken.push(await page.evaluate(moveOnce, move < moves / 2 ? "ArrowRight" : "ArrowLeft"));
            await new Promise((resolve) => setTimeout(resolve, pauseMs));
        }
        taken.sort((a, b) => a - b);
        const [least, median, most] = [taken[0], taken[Math.floor(moves / 2)], taken[moves - 1]];
        console.log(
            `4,096 words at ${points} points, a key every ${pauseMs} ms: median ${median.toFixed(1)} ms of ${moves} (${least.toFixed(1)} to ${most.toFixed(1)}), ${(median / pictureMs).toFixed(2)} pictures of 1/60 s`,
        );
    }
} finally {
    await close();
}
