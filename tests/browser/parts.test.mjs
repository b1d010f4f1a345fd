// Question 3: a specification filled in on the page, a typical curve dropped on it, and codes that others are held at.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import path from "node:path";
import { test } from "node:test";
import { answer, dropFolder, saveExport, waitForChecks, waitForPhase } from "./browser.mjs";
import { idealRun, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

/** Runs `use` on the ideal part, whose loss at code 0 is 6 dB and whose reflections are −20 and −18 dB. */
const withIdeal = (use, extra = {}) =>
    withFolder({ ...idealRun(), ...extra }, (folder) =>
        withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            await waitForChecks(page);
            await use(page, folder);
        }),
    );

const row = (at) => `#specification-rows tr:nth-child(${at})`;
const hidden = (page, selector) => page.$eval(selector, (one) => one.closest("[hidden]") !== null);

/** Fills a row as a user would: figure by its label, then values by what a screen reader calls them. */
async function fill(page, at, figure, values) {
    const option = await page.$eval(`${row(at)} select`, (select, figure) => [...select.options].find((one) => one.text === figure)?.value, figure);
    assert.ok(option, figure);
    await page.select(`${row(at)} select`, option);
    for (const [label, value] of Object.entries(values)) {
        await page.type(`${row(at)} input[aria-label="${label}"]`, String(value));
        await page.keyboard.press("Tab");
    }
}

const verdict = (page, at, word) =>
    page.waitForFunction((selector, word) => document.querySelector(`${selector} [data-verdict]`)?.textContent.trim().startsWith(word), { timeout: 20_000 }, row(at), word);

test("a specification that is filled in is judged row by row, and goes with every file", async () => {
    await withIdeal(async (page) => {
        await page.click("#specification-add");
        await fill(page, 1, "insertion loss, dB", { "At most": 5 });
        await verdict(page, 1, "fails");
        assert.match(await answer(page, "parts"), /^The only row of the specification fails: insertion loss is 6\.0 dB at word 0 at 8 GHz, outside its limit of at most 5 dB by 1\.0 dB/);
        await page.click("#specification-add");
        await fill(page, 2, "output return loss, dB", { "From, GHz": 9, "To, GHz": 11, "At least": 15 });
        await verdict(page, 2, "holds");
        assert.match(await answer(page, "parts"), /^1 of 2 rows of the specification fails: insertion loss/);
        // The loss is too large everywhere, which the strip says and draws.
        const caption = () => page.$eval("#strip-caption", (one) => one.textContent);
        assert.match(await caption(), / Of the 2 limits specified 1 is broken, at 9 of 9 frequencies, drawn thick\. /);
        const strip = String(await saveExport(page, "frequency-strip.svg"));
        for (const label of ["specified", "Insertion loss at most 5 dB, broken"]) assert.match(strip, new RegExp(`>\\s*${label}\\s*<`));
        await page.click("#strip-numbers > summary");
        await page.waitForSelector("#strip-numbers-table td");
        const cells = (at) => page.$$eval("#strip-numbers-table tbody tr", (rows, at) => [...rows[at].cells].slice(4).map((cell) => cell.textContent), at);
        assert.deepEqual([await cells(0), await cells(2)], [["1", "yes"], ["2", "yes"]], "8 and 9 GHz");
        await page.keyboard.press("Escape");
        // The row that fails is taken away: what is left holds, 18 dB where 15 dB are wanted.
        const rows = JSON.parse((await saveExport(page, "summary.json")).toString("utf8")).specification;
        assert.deepEqual(rows.map((one) => one.verdict), ["fails", "holds"]);
        assert.equal(rows[0].limit, 5);
        assert.deepEqual([rows[1].from_hz, rows[1].to_hz], [9e9, 11e9]);
        await page.click(`${row(1)} button`);
        await page.waitForFunction(() => document.querySelector("[data-answer=parts]").textContent.startsWith("The only row of the specification holds: output return loss is 18"));
        // A sub-band the wrong way round is told, and changes nothing.
        await page.click("#specification-add");
        await fill(page, 2, "rms phase error, °", { "From, GHz": 11, "To, GHz": 9, "At most": 3 });
        await page.waitForSelector("#parts-message:not([hidden])");
        assert.match(await answer(page, "parts"), /^The only row/);
    });
});

test("codes that the other fields are held at are told, and what is no code is refused", async () => {
    await withIdeal(async (page) => {
        const told = () => page.$eval("#parts-notes", (list) => list.textContent);
        assert.match(await told(), /Each field is graded with the others held at code 0\./);
        await page.type("#held-codes", "2 3");
        await page.keyboard.press("Tab");
        await page.waitForFunction(() => /While another field is graded, field 1 at code 2 and field 2 at code 3 is held/.test(document.querySelector("#parts-notes").textContent));
        await page.$eval("#held-codes", (one) => (one.value = ""));
        await page.type("#held-codes", "two");
        await page.keyboard.press("Tab");
        await page.waitForFunction(() => document.querySelector("#parts-message").textContent.startsWith("Write one code for each field"));
    });
});

// The measured loss of code 0 is 6 dB; the curve goes from 5.5 dB to 6.5 dB, in whose middle both meet.
test("a typical curve dropped on the page is drawn and told with the difference, and taken away again", async () => {
    const curve = "frequency_ghz,value,unit\n8,5.5,dB\n12,6.5,dB\n";
    await withFolder({ "typical.csv": curve }, async (beside) =>
        withIdeal(async (page) => {
            assert.ok(await hidden(page, "#difference-canvas"));
            await dropFolder(page, path.join(beside, "typical.csv"));
            await page.waitForSelector("#difference:not([hidden])");
            const caption = await page.$eval("#difference-caption", (one) => one.textContent);
            assert.match(caption, /^Insertion loss of the \w+ field minus the typical curve: at most 0\.50 dB above it, at 8 GHz\.$/);
            assert.equal(await page.$eval("#difference-canvas", (one) => one.ariaLabel ?? one.getAttribute("aria-label")), caption);
            assert.match(await page.$eval("#parts-notes", (list) => list.textContent), /Measured insertion loss lies 0\.50 dB above the typical curve at most, at 8 GHz\./);
            const drawn = (await saveExport(page, "typical-difference.svg")).toString("utf8");
            assert.ok(drawn.includes("\nInsertion loss minus typical, dB\n"));
            assert.ok((await saveExport(page, "field-figure.svg")).toString("utf8").includes("\ntypical\n"));
            await page.$eval("#difference-numbers > summary", (one) => one.click());
            await page.waitForFunction(() => document.querySelectorAll("#difference-numbers-table tbody tr").length === 9);
            const cells = await page.$$eval("#difference-numbers-table tbody tr", (rows) => rows.map((one) => one.lastElementChild.textContent));
            assert.deepEqual([cells[0], cells[4], cells[8]], ["0.50 dB", "0 dB", "−0.50 dB"]);
            // It may be of another figure in the same unit; in another unit it cannot be.
            await page.select("#typical-figure", "output return loss");
            await page.waitForFunction(() => /Output return loss of the \w+ field minus the typical curve: at most 12\.5 dB above it, at 8 GHz/.test(document.querySelector("#difference-caption").textContent));
            await page.select("#typical-figure", "rms phase error");
            await page.waitForFunction(() => document.querySelector("#parts-message").textContent === "The typical curve is in dB, and rms phase error is in °.");
            const settings = JSON.parse((await saveExport(page, "settings.json")).toString("utf8"));
            assert.equal(settings.typical.curve.points.length, 2);
            await page.click("#typical-remove");
            await page.waitForSelector("#difference[hidden]");
            assert.ok(await hidden(page, "#typical-figure"));
        }),
    );
});

test("the sentences under the constellations say of what the error is only a part", async () => {
    await withIdeal(async (page) => {
        await page.waitForFunction(() => document.querySelector("#evm-caption").textContent.length > 0);
        assert.match(await page.$eval("#evm-caption", (one) => one.textContent), /the static error of the states is only one part of a transmitter's\.$/);
        assert.match(await page.$eval("#use-notes", (list) => list.textContent), /This is the static error of the states alone, one part of a transmitter's EVM/);
    });
});
