// The printed sheet: one page, nothing cut, plots sharp.

import assert from "node:assert/strict";
import { execFile } from "node:child_process";
import { readFile, readdir } from "node:fs/promises";
import path from "node:path";
import { test } from "node:test";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { answer, dropFolder, outputFile, pdfPageCount, printToPdf, waitForChecks, waitForComparison, waitForPhase } from "./browser.mjs";
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
        boxes.forEach(([one], index) => {
            for (const [other] of boxes.slice(index + 1)) {
                if (one.contains(other) || other.contains(one)) continue;
                // A note that is broken across two columns has a box in each.
                const meet = [...one.getClientRects()].some((a) => [...other.getClientRects()].some((b) => {
                    const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
                    const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
                    return across > 1 && down > 1;
                }));
                if (meet) faults.push(`overlap: ${one.textContent.slice(0, 30)} / ${other.textContent.slice(0, 30)}`);
            }
        });
        return faults;
    });
    await page.emulateMediaType(null);
    return found;
}

/** Text that a box with clipped overflow hides, at print media. */
async function hidden(page) {
    await page.emulateMediaType("print");
    const found = await page.evaluate(() => {
        const sheet = document.querySelector("#paper-sheet");
        const tooTall = sheet.scrollHeight > sheet.clientHeight ? [`the page holds ${sheet.clientHeight} px of ${sheet.scrollHeight}`] : [];
        // Lines of text as they are laid out, each inside the page and inside its own block.
        const cut = [...sheet.querySelectorAll("h3, h4, p, li, th, td, figcaption")].filter((block) => {
            const range = document.createRange();
            range.selectNodeContents(block);
            const [text, box] = [range.getBoundingClientRect(), block.getBoundingClientRect()];
            return text.width > 0 && (text.right > box.right + 1 || text.bottom > box.bottom + 3 || text.left < box.left - 1);
        });
        return [...tooTall, ...cut.map((block) => `text beyond its box: ${block.textContent.slice(0, 40)}`)];
    });
    await page.emulateMediaType(null);
    return found;
}

async function checkSheet(page, file, { verdict = "sound" } = {}) {
    // Until everything is known an answer may change between the printing and the reading.
    if (await page.$("#trust:not([hidden])")) await waitForComparison(page);
    assert.deepEqual(await faults(page), []);
    assert.deepEqual(await hidden(page), []);
    const pdf = await printToPdf(page, outputFile(file));
    assert.equal(await pdfPageCount(pdf), 1);
    // In the order of the page's content, as columns stand side by side.
    const text = bare((await run("pdftotext", ["-raw", pdf, "-"])).stdout);
    for (const key of ["came-in", "trust", "parts", "plane", "words", "reach", "use"]) {
        const said = await answer(page, key);
        for (const piece of said.split(/[.:;] /)) assert.ok(text.includes(bare(piece).slice(0, 40)), `${key}: ${piece}`);
    }
    for (const caution of ["RFpower", "Staticdischarge", "Suppliesbeforelogic", "Radiatedpower", "licence", "localrules"]) {
        assert.ok(text.includes(caution), caution);
    }
    for (const setting of ["transmission:S", "reference:", "mapping:", "tolerance:", "frequency:", "gainceiling:"]) {
        assert.ok(text.includes(setting), setting);
    }
    // What fails is never counted away before all that holds is.
    const rows = await page.$$eval("#paper-sheet [data-rows] tbody tr", (all) => all.map((one) => one.innerText));
    for (const row of rows) for (const cell of row.split("\t")) assert.ok(text.includes(bare(cell).slice(0, 24)), row);
    assert.match(text, /inputdigest:[0-9a-f]{40}/);
    assert.ok(text.includes(`verdictoftherun:${bare(verdict)}`), verdict);
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
        // Seven phase bits and five gain bits make a map, whose axes are written out whole.
        const lines = (await run("pdftotext", ["-raw", pdf, "-"])).stdout.split("\n");
        for (const title of ["phase bits kept", "gain bits kept"]) assert.ok(lines.includes(title), title);
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
            assert.match(await page.$eval("[data-notes]", (list) => list.lastElementChild.textContent), /^\d+ more lines stand on the page\.$/);
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

const sample = fileURLToPath(new URL("../../samples/attenuator-5-bit", import.meta.url));

/** The attenuator's run with faults planted: two bits exchanged, one sweep read twice, one not passive, one not reciprocal. */
async function faultyRun() {
    const names = (await readdir(sample)).toSorted();
    const read = (word) => readFile(path.join(sample, names[word]), "latin1");
    const exchanged = (word) => {
        const differ = ((word >> 1) ^ (word >> 3)) & 1;
        return word ^ ((differ << 1) | (differ << 3));
    };
    const files = {};
    for (const [word, name] of names.entries()) files[name] = await read(exchanged(word));
    files[names[12]] = files[names[11]];
    const unlike = (line) => {
        const cells = line.split(" ");
        // Columns of a version 1 two-port: frequency, S11, S21, S12, S22, each a pair.
        if (cells.length === 9 && !line.startsWith("!")) for (const at of [5, 6]) cells[at] = (1.1 * Number(cells[at])).toFixed(7);
        return cells.join(" ");
    };
    // An input reflection of more than one gives out more power than goes in.
    const louder = (line) => {
        const cells = line.split(" ");
        if (cells.length === 9 && !line.startsWith("!")) for (const at of [1, 2]) cells[at] = (40 * Number(cells[at])).toFixed(7);
        return cells.join(" ");
    };
    files[names[25]] = files[names[25]].split("\n").map(louder).join("\n");
    files[names[20]] = files[names[20]].split("\n").map(unlike).join("\n");
    return files;
}

const strays = (count) => Object.fromEntries(Array.from({ length: count }, (_, at) => [`left_${"out_".repeat(40)}${at}.txt`, "notes"]));

/** A run too short for its noise to be told is not searched: nothing can be found in it. */
const unsearched = () => Object.fromEntries(Array.from({ length: 32 }, (_, word) => [name(word), sweep(word, { points: 2 })]));

// What a run can be found to have is told by kind, all words in one finding, so that some fifteen findings are the most;
// forty lines come of files left out beside them.
for (const paper of ["a4", "letter"]) {
    for (const [what, files, least, most, lines] of [
        ["no finding", unsearched, 0, 0, 0],
        ["five findings", faultyRun, 5, 12, 5],
        ["forty lines of findings and files left out", async () => ({ ...(await faultyRun()), ...strays(40) }), 5, 12, 45],
    ]) {
        test(`the sheet is one ${paper} page with ${what}`, async () => {
            await withFolder(await files(), (folder) =>
                withPage({}, async (page) => {
                    await dropFolder(page, folder);
                    await waitForPhase(page, "ready");
                    await waitForChecks(page);
                    await page.select("#paper", paper);
                    const isLetter = paper === "letter";
                    await page.waitForFunction((isLetter) => document.querySelector("#paper-sheet").classList.contains("letter") === isLetter, {}, isLetter);
                    for (const id of ["part-name", "operator"]) {
                        await page.click(`#${id}`);
                        await page.keyboard.type(least > 0 ? "W".repeat(80) : "Part");
                    }
                    await page.waitForFunction(() => /W{80}|Part/.test(document.querySelector("#paper-sheet .sheet-head").textContent));
                    const found = await page.$$eval("[data-finding]", (all) => all.map((one) => one.dataset.finding));
                    assert.ok(found.length >= least && found.length <= most, `${found}`);
                    const summary = await page.$eval("[data-notes]", (list) => [list.childElementCount, Number(/^(\d+) more/.exec(list.lastElementChild?.textContent ?? "")?.[1] ?? 0)]);
                    assert.ok(summary[0] + summary[1] >= lines, `${summary}`);
                    const verdict = await page.$eval("#paper-sheet .origin", (one) => /verdict of the run: ([a-z ]+)/.exec(one.textContent)[1].trim());
                    await checkSheet(page, `sheet-${paper}-${lines}.pdf`, { verdict });
                }),
            );
        });
    }
}

/** So many rows about one figure in sub-bands of their own: the ideal part loses 6 dB, so those at most 5 dB fail. */
const specification = (holding, failing) =>
    ["figure,from_ghz,at_most", ...Array.from({ length: holding }, (_, at) => `insertion loss,${8 + at / 100},7`), ...Array.from({ length: failing }, (_, at) => `insertion loss,${8 + at / 100},5`)].join("\n");

for (const [paper, holding, failing] of [["a4", 4, 1], ["letter", 18, 2], ["a4", 38, 2]]) {
    test(`a specification of ${holding + failing} rows stands on one ${paper} page, what fails first`, async () => {
        await withFolder({ ...idealRun(), "specification.csv": specification(holding, failing), ...(holding > 4 ? strays(40) : {}) }, (folder) =>
            withPage({}, async (page) => {
                await dropFolder(page, folder);
                await waitForPhase(page, "ready");
                await waitForChecks(page);
                await page.select("#paper", paper);
                await page.waitForFunction((isLetter) => document.querySelector("#paper-sheet").classList.contains("letter") === isLetter, {}, paper === "letter");
                await page.waitForFunction(() => document.querySelector("#paper-sheet [data-rows] tbody tr td:nth-child(4)")?.textContent === "fails");
                await checkSheet(page, `sheet-${paper}-${holding}-rows.pdf`);
                const verdicts = await page.$$eval("#paper-sheet [data-rows] tbody tr", (rows) => rows.map((one) => one.cells[3].textContent));
                const count = await page.$eval("#paper-sheet", (sheet) => /(\d+) more rows? stands? on the page \(holds: (\d+)\)/.exec(sheet.innerText)?.slice(1).map(Number) ?? [0, 0]);
                assert.deepEqual(verdicts.slice(0, failing), Array(failing).fill("fails"));
                assert.equal(verdicts.length + count[0], holding + failing);
                assert.equal(count[0], count[1]);
                // Word and frequency decide: the loss is the same everywhere, so the band's first frequency does.
                const decided = await page.$eval("#paper-sheet [data-rows] tbody tr", (row) => row.cells[4].textContent);
                assert.equal(decided, "6.0 dB, word 0, 8 GHz");
            }),
        );
    });
}
