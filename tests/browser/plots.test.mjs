// The plots of questions 3 and 7: drawn, said in words, following their selects, and saved.

import assert from "node:assert/strict";
import { test } from "node:test";
import { answer, dropFolder, saveExport, screenshot, waitForChecks, waitForPhase } from "./browser.mjs";
import { idealRun, name, sweep, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

/** The share of a canvas' pixels that are not its corner's colour; 0 is a blank canvas. */
const inked = (page, id) =>
    page.$eval(`#${id}`, (canvas) => {
        const copy = new OffscreenCanvas(canvas.width, canvas.height).getContext("2d", { willReadFrequently: true });
        copy.drawImage(canvas, 0, 0);
        const { data } = copy.getImageData(0, 0, canvas.width, canvas.height);
        let count = 0;
        for (let at = 4; at < data.length; at += 4) count += data[at] !== data[0] || data[at + 1] !== data[1] || data[at + 2] !== data[2] ? 1 : 0;
        return (4 * count) / data.length;
    });

/** Scrolls a canvas into view, waits until it is drawn, and gives the share that is inked. */
async function drawn(page, id) {
    await page.$eval(`#${id}`, (canvas) => canvas.scrollIntoView({ block: "center" }));
    await page.waitForFunction((id) => document.getElementById(id).width > 300, {}, id);
    // One picture later than the one that the scrolling asked for.
    await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 100)))));
    return inked(page, id);
}

const caption = (page, figure) => page.$eval(`#${figure}-caption`, (one) => one.textContent);
const label = (page, figure) => page.$eval(`#${figure}-canvas`, (one) => one.ariaLabel);
const hidden = (page, selector) => page.$eval(selector, (one) => one.closest("[hidden]") !== null);

async function withRun(files, use) {
    await withFolder(files, (folder) =>
        withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            await waitForChecks(page);
            await use(page, folder);
        }),
    );
}

for (const scheme of ["light", "dark"]) {
    test(`every new plot is drawn and said in words on a ${scheme} screen`, async () => {
        await withRun(idealRun(), async (page) => {
            await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
            await page.waitForSelector("#largest-figure:not([hidden])");
            const said = {
                traces: /^Relative gain of all 4 codes of the gain field against frequency; the straight lines are what each code should do\.$/,
                map: /^State error of every code of the gain field at every frequency, blue below zero and orange above\./,
                constellation: /^QPSK at 10 GHz, turned upright by .*: 0 % EVM over average power, 0 % over peak power\. It is clean\.$/,
                evm: /^Error vector magnitude over average power: QPSK 0 % \(limit 17\.5 %\), 16-QAM .* The limits are a guide: 3GPP TS 38\.104, Table 6\.5\.2\.2-1, /,
                largest: /^The largest clean constellation against frequency: QPSK at 8 GHz and everywhere else\.$/,
            };
            for (const [figure, words] of Object.entries(said)) {
                const share = await drawn(page, `${figure}-canvas`);
                assert.ok(share > 0.004 && share < 0.95, `${figure}: ${share} of its pixels are inked`);
                assert.match(await caption(page, figure), words);
                assert.equal(await label(page, figure), await caption(page, figure));
            }
            await screenshot(page, `plots-${scheme}`);
        });
    });
}

test("the selects change what is drawn, said and saved", async () => {
    await withRun(idealRun(), async (page) => {
        const before = await drawn(page, "constellation-canvas");
        await page.select("#use-order", "64");
        await page.waitForFunction(() => document.querySelector("#constellation-caption").textContent.startsWith("64-QAM at 10 GHz"));
        assert.match(await caption(page, "constellation"), /It is not clean: \d+ points share a state and \d+ have one that is nearer to another point; their discs are open\.$/);
        assert.notEqual(await drawn(page, "constellation-canvas"), before);
        const saved = (await saveExport(page, "constellation.svg")).toString("utf8");
        // 64 points and 32 states: a disc for each point, and one more about each that is open.
        assert.ok((saved.match(/<circle/g) ?? []).length > 64);
        assert.ok(saved.includes("\nnot clean\n"));
        for (const one of ["constellation.png", "evm.png", "largest-constellation.png"]) {
            // The eight bytes that every PNG begins with (PNG specification, third edition, section 5.2).
            assert.deepEqual([...(await saveExport(page, one)).subarray(0, 8)], [137, 80, 78, 71, 13, 10, 26, 10], one);
        }
        await page.select("#parts-field", await page.$eval("#parts-field", (one) => one.options[1].value));
        await page.waitForFunction(() => document.querySelector("#traces-caption").textContent.startsWith("Relative phase of all 8 codes of the phase field"));
        assert.ok((await saveExport(page, "code-traces.svg")).toString("utf8").includes("\nRelative phase, °\n"));
    });
});

test("traces outside the specification and the error that the map says are those of the part", async () => {
    // Bits 0 and 1 attenuate; code 1 by 1.4 dB in place of 1 dB.
    const files = Object.fromEntries(
        Array.from({ length: 32 }, (_, word) => [name(word), sweep(word, { gain: (code) => -[0, 1.4, 2, 3][code] })]),
    );
    const specification = "figure,to_ghz,plus_minus\ngain state error,10,0.3\n";
    await withRun({ ...files, "specification.csv": specification }, async (page) => {
        const layout = await page.$$eval("#parts-field option", (all) => all.map((one) => one.textContent));
        await page.select("#parts-field", await page.$eval("#parts-field", (one, at) => one.options[at].value, layout.indexOf("gain field")));
        await page.waitForFunction(() => /gain field/.test(document.querySelector("#map-caption").textContent));
        assert.match(await caption(page, "map"), /The largest is 0\.\d+ dB, of code 1 at 8 GHz\.$/);
        const summary = JSON.parse((await saveExport(page, "summary.json")).toString("utf8"));
        assert.equal(summary.resolution.served_pct.length, 4);
        assert.equal(summary.constellations.formed.length, 6);
        assert.equal(summary.constellations.largest_clean_at.length, 9);
        assert.match(await answer(page, "use"), /^QPSK is the largest square constellation that the states form cleanly at 10 GHz/);
    });
});

test("a run without bits or phases is not offered what it has not", async () => {
    const rows = (gain) => [8, 9, 10].map((ghz) => `${ghz} -20 0 ${gain} 0 ${gain} 0 -20 0`).join("\n");
    const files = Object.fromEntries([0, 1, 2, 3].map((step) => [`att_${step}dB.s2p`, `# GHz S DB R 50\n${rows(-step)}\n`]));
    await withRun(files, async (page) => {
        assert.equal(await answer(page, "use"), "No constellation can be formed, since nothing sets the phase.");
        for (const one of ["bit-weights.svg", "bit-weights.png", "constellation.svg", "evm.svg", "largest-constellation.png"]) {
            assert.ok(await hidden(page, `[data-export="${one}"]`), one);
        }
        assert.ok(await hidden(page, "#constellation-canvas"));
        assert.ok(await hidden(page, "#largest-canvas"));
        assert.ok(!(await hidden(page, '[data-export="code-traces.svg"]')));
        assert.ok(!(await hidden(page, "#specification")));
        assert.ok((await drawn(page, "traces-canvas")) > 0.004);
    });
    // Voltages say nothing of gain or phase: there is no field, and no table to hold one against.
    const volts = Object.fromEntries([0, 1, 2, 3].map((step) => [`tune_${step}V.s2p`, `# GHz S DB R 50\n${rows(-step)}\n`]));
    await withRun(volts, async (page) => {
        await page.waitForFunction(() => document.querySelector("[data-answer=parts]").textContent.includes("no field"));
        assert.ok(await hidden(page, "#specification"));
        assert.ok(await hidden(page, '[data-export="code-traces.svg"]'));
    });
});
