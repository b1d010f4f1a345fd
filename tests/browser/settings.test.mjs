// What a run without a layout of its own needs to be told: wanted settings, the sign of phases, uneven steps.

import assert from "node:assert/strict";
import { test } from "node:test";
import { answer, dropFolder, saveExport, waitForComparison, waitForPhase } from "./browser.mjs";
import { idealRun, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

/** Three frequencies at which a part does exactly this, behind 3 dB of loss. */
const sweep = (gain, phase) => `# GHz S DB R 50\n${[2, 3, 4].map((ghz) => `${ghz} -20 0 ${gain - 3} ${phase} ${gain - 3} ${phase} -20 0`).join("\n")}\n`;

/** A phase shifter tuned by 0 to 10 V in half volts, which lags 36° a volt. */
const tuned = Object.fromEntries(Array.from({ length: 21 }, (_, step) => [`V${step / 2}.s2p`, sweep(0, -18 * step)]));

const json = (bytes) => JSON.parse(bytes.toString("utf8"));
const visible = (page, selector) => page.$eval(selector, (one) => one.checkVisibility());
const text = (page, selector) => page.$eval(selector, (one) => one.textContent);
const value = (page, selector) => page.$eval(selector, (one) => one.value);
const notes = (page) => page.$$eval("#came-in-notes li", (all) => all.map((one) => one.textContent).join("\n"));

async function withRun(files, use) {
    await withFolder(files, (folder) =>
        withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            await use(page, folder);
        }),
    );
}

/** Types into an input in place of what stands there, and leaves it. */
async function type(page, selector, text) {
    await page.click(selector, { count: 3 });
    await page.keyboard.type(text);
    await page.keyboard.press("Tab");
}

/** Waits until the words' answer speaks of so many settings. */
const serves = (page, settings) =>
    page.waitForFunction((said) => document.querySelector("[data-answer=words]").textContent.includes(said), { timeout: 10_000 }, `of ${settings} settings`);

test("what is wanted of tuning voltages is set on the page, kept in the settings, and taken back", async () => {
    await withRun(tuned, async (page) => {
        assert.ok(await visible(page, "#wanted"));
        const proposed = [await value(page, "#wanted-gains"), await value(page, "#wanted-phases")];
        assert.deepEqual(proposed, ["0", "0 to 337.5 in steps of 22.5"]);
        await serves(page, 16);

        await type(page, "#wanted-phases", "from 0 to -324 in steps of 36");
        await serves(page, 10);
        // Every tenth of a turn is a state's own phase.
        assert.match(await answer(page, "words"), /serve 100 % of 10 settings/);
        assert.equal(await value(page, "#wanted-phases"), "0 to -324 in steps of 36");
        await type(page, "#wanted-gains", "0, −1");
        await serves(page, 20);
        assert.match(await notes(page), /The settings to serve as given: 2 gains from 0 to -1 dB at 10 phases from 0 to -324°/);
        const saved = json(await saveExport(page, "settings.json"));
        assert.deepEqual(saved.wanted, { gains_db: [0, -1], phases_deg: Array.from({ length: 10 }, (_, k) => -36 * k || 0) });

        await type(page, "#wanted-phases", "0 to 90");
        await page.waitForFunction(() => !document.querySelector("#wanted-message").hidden);
        assert.match(await text(page, "#wanted-message"), /^“0 to 90” needs a step; /);
        assert.equal(await value(page, "#wanted-phases"), "0 to 90", "what was typed is there to be corrected");
        await type(page, "#wanted-phases", " ");
        await page.waitForFunction(() => document.querySelector("#wanted-message").textContent.includes("at least one phase"));

        await page.click("#wanted-proposal");
        await serves(page, 16);
        await page.waitForFunction((expected) => document.querySelector("#wanted-phases").value === expected, {}, proposed[1]);
        assert.equal(await value(page, "#wanted-gains"), proposed[0]);
        assert.ok(!(await visible(page, "#wanted-message")));
        await waitForComparison(page);
        assert.match(await text(page, "#ladder"), /Chosen words, lowest mark as reference/);
        assert.equal(await page.$eval("#reference", (one) => one.selectedOptions[0].textContent), "lowest mark");
    });
});

test("a run with nominal settings is asked for none", async () => {
    await withRun(idealRun(), async (page) => {
        assert.ok(!(await visible(page, "#wanted")));
        assert.ok(!(await visible(page, "#unsigned-block")));
        assert.equal(await page.$eval("#reference", (one) => one.selectedOptions[0].textContent), "zero word");
    });
});

test("phases without a sign are lags or leads as proposed, and as the user says", async () => {
    const files = Object.fromEntries(Array.from({ length: 12 }, (_, step) => [`ps_${30 * step}deg.s2p`, sweep(0, -30 * step)]));
    await withRun(files, async (page) => {
        assert.ok(await visible(page, "#unsigned-block"));
        assert.equal(await text(page, "#unsigned-proposal"), "as proposed: lags");
        const asked = (said) => page.waitForFunction((said) => document.querySelector("#came-in-notes").textContent.includes(said), {}, said);
        await asked("A guess: the phases, which are written without a sign, are lags. Why: that fits the measurements better.");
        const nominalRms = () => page.$eval("#scores tbody tr:nth-child(3)", (row) => row.textContent);
        const right = await nominalRms();
        await page.select("#unsigned-phases", "leads");
        await asked("They are leads, as you gave it.");
        assert.notEqual(await nominalRms(), right, "the nominal words are scored against leads");
        assert.equal(json(await saveExport(page, "settings.json")).unsigned_phases, "leads");
        await page.select("#unsigned-phases", "lags");
        await asked("They are lags, as you gave it.");
        assert.equal(await nominalRms(), right);
    });
});

test("a listed setting that is missing goes by its name", async () => {
    const files = Object.fromEntries(Array.from({ length: 8 }, (_, step) => [`${-0.5 * step}dB.s2p`, step === 3 ? "# GHz S DB R 50\n2 oops" : sweep(-0.5 * step, 0)]));
    await withRun(files, async (page) => {
        assert.equal(await text(page, "#missing-summary"), "1 missing setting");
        assert.equal(await text(page, "#missing"), "−1.5 dB");
    });
});

/** The ideal part's layout, its two gain bits worth 0, 1, 2 and 3 dB as a list of values. */
const uneven = {
    settings_version: 1,
    layout: {
        fields: [
            { quantity: "gain", bits: [0, 1].map(bit), step: 1, direction: "down", levels: [0, 0.75, 2, 3] },
            { quantity: "phase", bits: [2, 3, 4].map(bit), step: 45, direction: "down", levels: null },
        ],
    },
};

function bit(position) {
    return { position, inverted: false };
}

test("uneven steps are shown, kept when the layout is given again, and edited", async () => {
    await withFolder({ ...idealRun(), "settings.json": JSON.stringify(uneven) }, (folder) =>
        withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            const levels = '#layout-fields tr:first-child [aria-label^="Value of every code"]';
            assert.equal(await value(page, levels), "0 0.75 2 3");
            const kept = async () => json(await saveExport(page, "settings.json")).layout.fields;
            await page.click("#layout-apply");
            await waitForPhase(page, "ready");
            assert.deepEqual(await kept(), uneven.layout.fields);

            await type(page, levels, "0 1 2");
            await page.click("#layout-apply");
            await page.waitForFunction(() => !document.querySelector("#layout-message").hidden);
            assert.match(await text(page, "#layout-message"), /4 codes needs as many values, not 3/);
            await page.evaluate(() => scrollTo(0, document.body.scrollHeight));
            await page.waitForFunction(() => scrollY > 0);
            assert.equal(await value(page, levels), "0 1 2", "drawing the page again overwrites nothing");

            await type(page, levels, "0 1 2 3");
            await page.click("#layout-apply");
            await page.waitForFunction(() => document.querySelector("#layout-message").hidden);
            await waitForPhase(page, "ready");
            assert.deepEqual((await kept())[0].levels, [0, 1, 2, 3]);
            // The ideal part does just that: its nominal words are right to the last digit.
            await page.waitForFunction(() => document.querySelector("#came-in-notes").textContent.includes("codes worth 0 1 2 3 dB"));
            await type(page, levels, " ");
            await page.click("#layout-apply");
            await page.waitForFunction(() => document.querySelector("#came-in-notes").textContent.includes("step 1 dB"));
            assert.equal((await kept())[0].levels, null);
        }),
    );
});
