// Question 2: faults of a run are said, a correction is one press away, and can be taken back.

import assert from "node:assert/strict";
import { readFile, readdir } from "node:fs/promises";
import path from "node:path";
import { test } from "node:test";
import { fileURLToPath } from "node:url";
import { answer, chooseFolder, saveExport, waitForChecks, waitForPhase } from "./browser.mjs";
import { withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

const sample = fileURLToPath(new URL("../../samples/attenuator-5-bit", import.meta.url));

/** The sample's files under other names: what is called `word` is what the part does at `seen(word)`. */
async function rewired(seen) {
    const names = (await readdir(sample)).toSorted();
    assert.equal(names.length, 32);
    const files = {};
    for (const [word, name] of names.entries()) files[name] = await readFile(path.join(sample, names[seen(word)]), "latin1");
    return files;
}

const exchanged = (word) => {
    const differ = ((word >> 1) ^ (word >> 3)) & 1;
    return word ^ ((differ << 1) | (differ << 3));
};

const says = (page, pattern) =>
    page.waitForFunction((source) => new RegExp(source).test(document.querySelector('[data-answer="trust"]').textContent), {}, pattern.source);

test("exchanged bits are said, cured by one press, and the cure is taken back by another", async () => {
    await withFolder(await rewired(exchanged), (folder) => withPage({}, async (page) => {
        await chooseFolder(page, "Choose a sweep folder", folder);
        await waitForPhase(page, "ready");
        await waitForChecks(page);
        assert.match(await answer(page, "trust"), /^The run is usable with care: bits 1 and 3 have each other's weight/);
        const finding = await page.$('[data-finding="exchanged bits"]');
        assert.match(await finding.evaluate((one) => one.innerText), /^Care\..*rewire and measure again\./s);
        const wrong = JSON.parse((await saveExport(page, "summary.json")).toString());
        assert.equal(wrong.verdict, "with care");
        assert.ok(wrong.findings.some((one) => one.name === "exchanged bits"));

        const button = await finding.$("button");
        assert.equal(await button.evaluate((one) => one.textContent), "Use the layout that fits");
        // By keyboard, as everything must be.
        await button.focus();
        await page.keyboard.press("Enter");
        await says(page, /nothing that matters was found/);
        assert.equal(await page.$('[data-finding="exchanged bits"]'), null);
        assert.match((await saveExport(page, "word-table.csv")).toString(), /,sound,/);
        assert.equal(await page.$eval("#undo", (one) => one.innerText), "Take back: “Use the layout that fits”");
        await page.focus("#undo");
        await page.keyboard.press("Enter");
        await says(page, /bits 1 and 3 have each other's weight/);
        assert.equal(await page.$eval("#undo", (one) => one.hidden), true);
        assert.equal(await page.evaluate(() => document.activeElement.textContent), "Make again: “Use the layout that fits”");
    }));
});

test("files in Gray-code order are taken so when asked, and the words follow", async () => {
    await withFolder(await rewired((word) => word ^ (word >> 1)), (folder) => withPage({}, async (page) => {
        await chooseFolder(page, "Choose a sweep folder", folder);
        await waitForPhase(page, "ready");
        await waitForChecks(page);
        assert.match(await answer(page, "trust"), /^The run is not to be trusted: the files seem to hold the words in Gray-code order/);
        await page.$eval('[data-finding="order of files"] button', (one) => one.click());
        await says(page, /nothing that matters was found/);
        const notes = await page.$$eval("#trust-notes li", (items) => items.map((item) => item.textContent).join("\n"));
        assert.match(notes, /words in Gray-code order, as you said/);
        const settings = JSON.parse((await saveExport(page, "settings.json")).toString());
        assert.equal(settings.file_order, "gray");
    }));
});

test("what the user knows of the part is asked in place, and the weights of findings are written down", async () => {
    await withPage({}, async (page) => {
        await chooseFolder(page, "Choose a sweep folder", sample);
        await waitForPhase(page, "ready");
        await waitForChecks(page);
        assert.match(await answer(page, "trust"), /wiring, capture, passivity(,| and) reciprocity/);
        await page.$eval("#part-is-active", (one) => one.click());
        await says(page, /wiring(,| and) capture/);
        assert.doesNotMatch(await answer(page, "trust"), /passivity/);
        const rows = await page.$$eval("#severities tbody tr", (all) => all.map((row) => [...row.cells].map((cell) => cell.textContent)));
        assert.ok(rows.length > 20 && rows.every((row) => row.length === 3 && row.every((cell) => cell !== "")));
        assert.deepEqual(rows.find((row) => row[0] === "missed word"), ["missed word", "more than 2 % of the words", "not to be trusted"]);
    });
});
