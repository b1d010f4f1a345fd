// Files that do not fit the run as they are: what the page offers, and what follows when it is taken.

import assert from "node:assert/strict";
import { test } from "node:test";
import { answer, chooseFolder, waitForPhase } from "./browser.mjs";
import { idealRun, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

const notes = (page) => page.$$eval("#came-in-notes li", (items) => items.map((item) => item.textContent).join("\n"));
const visible = (page, id) => page.$eval(`#${id}`, (one) => one.checkVisibility());

/** Every second frequency of a file, its ends kept. */
function thinned(text) {
    const lines = text.trimEnd().split("\n");
    const head = lines.filter((line) => /^[!#]/.test(line));
    const rows = lines.filter((line) => !/^[!#]/.test(line));
    return [...head, ...rows.filter((_, index) => index % 2 === 0 || index === rows.length - 1)].join("\n") + "\n";
}

test("interpolation is offered, never silent, and can be taken back", async () => {
    const files = idealRun();
    const names = Object.keys(files);
    files[names[5]] = thinned(String(files[names[5]]));
    await withFolder(files, (folder) => withPage({}, async (page) => {
        await chooseFolder(page, "Choose a sweep folder", folder);
        await waitForPhase(page, "ready");
        assert.match(await answer(page, "came-in"), /no usable file came/);
        assert.equal(await visible(page, "path-line"), false);
        const label = await page.$eval("#interpolate-label", (one) => one.textContent);
        assert.equal(label, "Interpolate the 1 file measured at other frequencies");
        assert.match(await page.$eval("#left-out", (one) => one.textContent), /can be interpolated if you ask/);
        await page.click("#interpolate");
        await page.waitForFunction(() => /none missing/.test(document.querySelector('[data-answer="came-in"]').textContent));
        assert.match(await notes(page), /1 state was measured at other frequencies, as you asked/);
        await page.click("#interpolate");
        await page.waitForFunction(() => /no usable file came/.test(document.querySelector('[data-answer="came-in"]').textContent));
    }));
});

/** A two-port file as a three-port whose third port is reached 6 dB below the second. */
function withThirdPort(text) {
    return text.replace(/^[^!#\n].*$/gm, (row) => {
        const [ghz, db11, deg11, db21, deg21, db12, deg12, db22, deg22] = row.trim().split(/\s+/).map(Number);
        const lower = [db21 - 6, deg21];
        return [[ghz, db11, deg11, db12, deg12, ...lower], [db21, deg21, db22, deg22, -60, 0], [...lower, -60, 0, -20, 0]]
            .map((line) => line.join(" ")).join("\n");
    });
}

test("a path through three ports is proposed as a guess and can be picked", async () => {
    const files = Object.fromEntries(
        Object.entries(idealRun()).map(([name, text]) => [name.replace(/s2p$/, "s3p"), withThirdPort(String(text))]),
    );
    await withFolder(files, (folder) => withPage({}, async (page) => {
        await chooseFolder(page, "Choose a sweep folder", folder);
        await waitForPhase(page, "ready");
        assert.match(await notes(page), /^A guess: the path from port 1 to port 2 .* Why: .* To correct it: /m);
        await page.$eval("#path-output", (input) => {
            input.value = "3";
            input.dispatchEvent(new Event("change", { bubbles: true }));
        });
        await page.waitForFunction(() => /path from port 1 to port 3/.test(document.querySelector("#came-in-notes").textContent));
        await waitForPhase(page, "ready");
        assert.match(await answer(page, "came-in"), /none missing/);
        assert.match(await notes(page), /path from port 1 to port 3 is read, as you gave it/);
    }));
});
