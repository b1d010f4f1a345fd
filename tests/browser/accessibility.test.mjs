// Everyone can use the page: axe-core finds nothing, and the keyboard reaches and operates everything.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { test } from "node:test";
import { answer, dropFolder, waitForChecks, waitForComparison, waitForPhase } from "./browser.mjs";
import { idealRun, name, sweep, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

const axeSource = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** What axe-core finds on the whole page, one line a finding: the rules of WCAG 2.2 A and AA, and best practices. */
async function findings(page) {
    if (!(await page.evaluate(() => "axe" in globalThis))) await page.evaluate(`${axeSource}; undefined`);
    // Its preloading would fetch, which the page's policy does not let it.
    const [violations, passed] = await page.evaluate(async () => {
        const { violations, passes } = await axe.run(document, { preload: false });
        return [violations.map(({ id, nodes }) => ({ id, nodes: nodes.map(({ target, failureSummary }) => ({ target, failureSummary })) })), passes.length];
    });
    assert.ok(passed > 20, `only ${passed} rules looked at anything`);
    return violations.flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.target.join(" ")}: ${node.failureSummary}`));
}

/** Opens everything that is folded away, so that it is looked at too. */
const unfold = (page) => page.$$eval("details", (all) => all.forEach((one) => (one.open = true)));

for (const scheme of ["light", "dark"]) {
    test(`axe-core finds nothing on the ${scheme} page, empty and with the demo loaded`, async () => {
        await withPage({}, async (page) => {
            await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
            assert.deepEqual(await findings(page), [], "empty");
            await page.click("#run-demo");
            await waitForPhase(page, "ready", 120_000);
            await waitForComparison(page);
            await unfold(page);
            await page.waitForSelector("#plane-numbers-table td");
            assert.deepEqual(await findings(page), [], "the demo");
        });
    });
}

/** A run in which much is wrong: a word without its file, one of another impedance, one captured in place of another, one far
 * too low, and a file that is no measurement. */
function faultyRun() {
    const files = { ...idealRun(), [name(30)]: sweep(30, { gain: () => -60 }), [name(5)]: sweep(5, { ohm: 75 }), "notes.s2p": "# GHz S DB R 50\n8 nothing\n" };
    files[name(9)] = files[name(8)];
    delete files[name(3)];
    return files;
}

/** A part that is tuned by a voltage, whose words are marks and no bits. */
const tunedRun = () => Object.fromEntries(Array.from({ length: 8 }, (_, step) => [`tune_${step}V.s2p`, sweep(4 * step)]));

for (const [what, files] of [
    ["a run with many findings", faultyRun()],
    ["a run of marks", tunedRun()],
    ["a run without any state", { "notes.s2p": "# GHz S DB R 50\n8 nothing\n" }],
]) {
    test(`axe-core finds nothing on ${what}, light and dark`, async () => {
        await withFolder(files, (folder) =>
            withPage({}, async (page) => {
                await dropFolder(page, folder);
                await waitForPhase(page, "ready");
                if (what.endsWith("without any state")) {
                    assert.match(await answer(page, "came-in"), /./);
                } else {
                    await waitForChecks(page);
                    await waitForComparison(page);
                    const found = await page.$$eval("#findings > li", (all) => all.length);
                    assert.ok(found > 1 || !what.endsWith("findings"), `${found} findings`);
                }
                await unfold(page);
                for (const value of ["light", "dark"]) {
                    await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value }]);
                    await new Promise((resolve) => setTimeout(resolve, 300));
                    assert.deepEqual(await findings(page), [], value);
                }
            }),
        );
    });
}

/** What the browser tells assistive technology of the focused element: its role, its name, and whether a ring shows. */
async function focused(page, client) {
    const { result } = await client.send("Runtime.evaluate", { expression: "document.activeElement" });
    const { nodes } = await client.send("Accessibility.getPartialAXTree", { objectId: result.objectId, fetchRelatives: false });
    const own = await page.evaluate(() => {
        const active = document.activeElement;
        const ringed = active.id === "folder" ? document.querySelector('label[for="folder"]') : active;
        const { outlineStyle, outlineWidth } = getComputedStyle(ringed);
        active.dataset.reached = "yes";
        return {
            isBody: active === document.body,
            ring: outlineStyle !== "none" && Number.parseFloat(outlineWidth) >= 2,
            text: active.textContent.trim(),
            markup: active.outerHTML.slice(0, 120),
        };
    });
    return { ...own, name: nodes[0]?.name?.value ?? "" };
}

test("the keyboard reaches everything, and each stop shows its focus and has a name", async () => {
    await withFolder(idealRun(), (folder) =>
        withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            await waitForComparison(page);
            await page.click("#specification-add");
            await unfold(page);
            await page.waitForSelector("#plane-numbers-table td");
            await page.evaluate(() => document.activeElement.blur());
            const client = await page.createCDPSession();
            await client.send("Accessibility.enable");
            let stops = 0;
            // Once round: from wherever the focus was last to the end, and from the beginning.
            for (let ends = 0; ends < 2; stops++) {
                assert.ok(stops < 600, "the focus does not come round");
                await page.keyboard.press("Tab");
                const { isBody, ring, name, text, markup } = await focused(page, client);
                if (isBody) {
                    ends += 1;
                    continue;
                }
                assert.ok(ring, `no ring around ${markup}`);
                // A term is its own text; everything else has to have a name.
                assert.ok(name || (markup.startsWith("<dfn") && text), `no name: ${markup}`);
            }
            const missed = await page.evaluate(() =>
                [...document.querySelectorAll("a[href], button, input, select, summary, [tabindex='0']")]
                    .filter((one) => one.checkVisibility({ visibilityProperty: true }) && !one.disabled && one.dataset.reached !== "yes")
                    .map((one) => one.outerHTML.slice(0, 120)),
            );
            assert.deepEqual(missed, [], "never reached");
            assert.ok(stops > 60, `only ${stops} stops`);
            console.log(`${stops} stops`);
        }),
    );
});

test("every plot has a text and a table of the numbers drawn", async () => {
    await withFolder(idealRun(), (folder) =>
        withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            await waitForComparison(page);
            // The strip tells its numbers as a slider, and shows the shares of question 5.
            const plots = await page.$$eval("figure > canvas", (all) =>
                all.filter((one) => !one.closest("#paper-sheet") && one.checkVisibility()).map((one) => one.id.replace("-canvas", "")),
            );
            assert.ok(plots.length >= 9, `${plots}`);
            await unfold(page);
            for (const plot of plots) {
                const said = await page.$eval(`#${plot}-canvas`, (one) => one.ariaLabel ?? "");
                assert.ok(said.length > 20, `${plot}: "${said}"`);
                const table = plot === "resolution" ? "#resolution-table" : `#${plot}-numbers-table`;
                await page.waitForSelector(`${table} tbody tr`);
                const cells = await page.$$eval(`${table} tbody tr`, (rows) => rows.map((row) => [...row.cells].map((cell) => cell.textContent)));
                assert.ok(cells.length >= 2 && cells.every((row) => row.length >= 2 && row.every((text) => text !== "")), `${plot}: ${cells}`);
            }
            // The part is ideal: bit 0 attenuates by 1 dB, bit 4 lags by 180°, word 5 by 1 dB and 45°.
            const row = (id, at) => page.$$eval(`#${id}-numbers-table tbody tr`, (rows, at) => [...rows.at(at).cells].map((cell) => cell.textContent), at);
            assert.deepEqual(await row("weights", 0), ["0", "−1 dB", "−1.0 dB", "0°", "0°"]);
            assert.deepEqual(await row("plane", 5), ["5", "−1.0 dB", "−45.0°", "−1 dB", "−45°"]);
            assert.deepEqual(await row("share", 4), ["10 GHz", "100 %", "100 %", "100 %"]);
            assert.deepEqual(await row("gain", 0), ["8 GHz", "−3.0 dB", "0 dB"]);
        }),
    );
});

test("where reduced motion is asked for nothing moves by itself", async () => {
    await withPage({}, async (page) => {
        const moving = () =>
            page.$$eval("*", (all) =>
                all
                    .filter((one) => {
                        const { transitionDuration, animationName, scrollBehavior } = getComputedStyle(one);
                        return transitionDuration !== "0s" || animationName !== "none" || scrollBehavior === "smooth";
                    })
                    .map((one) => one.outerHTML.slice(0, 80)),
            );
        await page.emulateMediaFeatures([{ name: "prefers-reduced-motion", value: "no-preference" }]);
        assert.equal((await moving()).length, 1, "the progress bar glides");
        await page.emulateMediaFeatures([{ name: "prefers-reduced-motion", value: "reduce" }]);
        assert.deepEqual(await moving(), []);
    });
});
