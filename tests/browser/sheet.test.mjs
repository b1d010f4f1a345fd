// The printed sheet: one page, nothing cut, plots sharp.

import assert from "node:assert/strict";
import { execFile } from "node:child_process";
import { test } from "node:test";
import { promisify } from "node:util";
import { answer, dropFolder, outputFile, pdfPageCount, printToPdf, waitForChecks, waitForPhase } from "./browser.mjs";
import { idealRun, name, sweep, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

const run = promisify(execFile);
const bare = (text) => text.replaceAll(/\s+/g, "");

/** What sticks out of the sheet, and which blocks of text overlap, at print media. */
async function faults(page) {
    await page.emulateMediaType("print");
    const found = await page.evaluate(() => {
        const sheet = document.querySelector("#paper-sheet");
        const outer = sheet.getBoundingClientRect();
        const blocks = [...sheet.querySelectorAll("h3, h4, p, li, th, td, figcaption, canvas")];
        const boxes = blocks.map((block) => [block, block.getBoundingClientRect()]).filter(([, box]) => box.width > 0);
        const faults = [];
        for (const [block, box] of boxes) {
            const inside = box.left >= outer.left - 1 && box.right <= outer.right + 1 && box.top >= outer.top - 1 && box.bottom <= outer.bottom + 1;
            if (!inside) faults.push(`outside the page: ${block.tagName} ${block.textContent.slice(0, 40)}`);
            if (block.scrollWidth > block.clientWidth + 1 && block.tagName !== "CANVAS") faults.push(`cut: ${block.textContent.slice(0, 40)}`);
        }
        boxes.forEach(([one, a], index) => {
            for (const [other, b] of boxes.slice(index + 1)) {
                if (one.contains(other) || other.contains(one)) continue;
                const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
                const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
                if (across > 1 && down > 1) faults.push(`overlap: ${one.textContent.slice(0, 30)} / ${other.textContent.slice(0, 30)}`);
            }
        });
        return faults;
    });
    await page.emulateMediaType(null);
    return found;
}

async function checkSheet(page, file) {
    if (await page.$("#trust:not([hidden])")) await waitForChecks(page);
    assert.deepEqual(await faults(page), []);
    const pdf = await printToPdf(page, outputFile(file));
    assert.equal(await pdfPageCount(pdf), 1);
    const text = bare((await run("pdftotext", ["-layout", pdf, "-"])).stdout);
    for (const key of ["came-in", "trust", "plane", "words", "reach"]) {
        const said = await answer(page, key);
        // Columns interleave in the text of a page; a sentence of its own line does not.
        for (const piece of said.split(/[.:;] /)) assert.ok(text.includes(bare(piece).slice(0, 40)), `${key}: ${piece}`);
    }
    for (const caution of ["RFpower", "Staticdischarge", "Suppliesbeforelogic", "Radiatedpower", "licence", "localrules"]) {
        assert.ok(text.includes(caution), caution);
    }
    assert.match(text, /inputdigest:[0-9a-f]{40}/);
    assert.match(text, /verdictoftherun:sound/);
    assert.match(text, /checkagainstthepart.slimitsbeforedrivinghardware/);
    // Plots are vector graphics: no image, or one of at least 300 dots an inch.
    const images = (await run("pdfimages", ["-list", pdf])).stdout.trim().split("\n").slice(2);
    for (const image of images) {
        const columns = image.trim().split(/\s+/);
        assert.ok(Number(columns[12]) >= 300, image);
    }
    return pdf;
}

test("the demo's sheet is one A4 page", async () => {
    await withPage({ fragment: "demo" }, async (page) => {
        await waitForPhase(page, "ready", 120_000);
        const pdf = await checkSheet(page, "sheet-demo.pdf");
        assert.match((await run("pdfinfo", [pdf])).stdout, /Page size: +59[45](\.\d+)? x 84[12](\.\d+)? pts \(A4\)/);
    });
});

test("US Letter is one page too", async () => {
    await withPage({ fragment: "demo" }, async (page) => {
        await waitForPhase(page, "ready", 120_000);
        await page.select("#paper", "letter");
        await page.waitForFunction(() => document.querySelector("#paper-sheet").classList.contains("letter"));
        const pdf = await checkSheet(page, "sheet-letter.pdf");
        assert.match((await run("pdfinfo", [pdf])).stdout, /Page size: +612 x 792 pts \(letter\)/);
    });
});

test("forty files left out, and long names, still are one page: the rest is counted", async () => {
    const stray = Object.fromEntries(Array.from({ length: 40 }, (_, at) => [`stray_${"very_".repeat(20)}${at}.txt`, "notes"]));
    await withFolder({ ...idealRun(), ...stray, [name(4)]: sweep(4, { points: 5 }) }, (folder) =>
        withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            for (const [id, text] of [["part-name", "Part ".repeat(16)], ["operator", "W".repeat(80)]]) {
                await page.click(`#${id}`);
                await page.keyboard.type(text);
            }
            await checkSheet(page, "sheet-crowded.pdf");
            assert.match(await page.$eval("[data-notes]", (list) => list.lastElementChild.textContent), /^\d+ more notes stand on the page\.$/);
        }),
    );
});

test("names typed by the user stand on the sheet", async () => {
    await withFolder(idealRun(), (folder) =>
        withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            await page.type("#part-name", "Channel 7");
            await page.type("#operator", "R. F. Hand");
            await page.waitForFunction(() => document.querySelector("#paper-sheet .sheet-head").textContent.includes("R. F. Hand"));
            const pdf = await printToPdf(page, outputFile("sheet-names.pdf"));
            const text = (await run("pdftotext", [pdf, "-"])).stdout;
            assert.match(text, /Channel 7/);
            assert.match(text, /R\. F\. Hand/);
        }),
    );
});
