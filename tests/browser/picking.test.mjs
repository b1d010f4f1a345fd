// One state picked out of the plane: by the pointer, by its word; marked and told.

import assert from "node:assert/strict";
import path from "node:path";
import { test } from "node:test";
import { answer, dropFolder, saveExport, waitForComparison, waitForPhase } from "./browser.mjs";
import { idealRun, name, sweep, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

const picture = (page, id) => page.$eval(`#${id}`, (canvas) => canvas.toDataURL());
const told = (page) => page.$eval("#plane-picked", (one) => one.textContent);
const twoPictures = (page) => page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 50)))));

/** A run whose comparison stands, with the plane in the middle of a high window. */
async function withFiles(files, use) {
    return withFolder(files, (folder) =>
        withPage({ viewport: { width: 1280, height: 1400 } }, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            await waitForComparison(page);
            await page.$eval("#plane-canvas", (canvas) => canvas.scrollIntoView({ block: "center" }));
            await twoPictures(page);
            return use(page);
        }),
    );
}

const withRun = (use) => withFiles(idealRun(), use);

async function type(page, word) {
    await page.$eval("#plane-word", (input) => input.focus());
    await page.keyboard.down("Control");
    await page.keyboard.press("a");
    await page.keyboard.up("Control");
    await page.keyboard.type(String(word));
}

/** Types a word and waits until its trace has come too. */
async function pick(page, word) {
    const before = await picture(page, "gain-canvas");
    await type(page, word);
    await page.waitForFunction((word) => document.querySelector("#plane-picked").textContent.startsWith(`Word ${word} `), {}, word);
    await page.waitForFunction((before) => document.querySelector("#gain-canvas").toDataURL() !== before, {}, before);
    await twoPictures(page);
}

test("a word that is typed is told, and marked in the plane and the traces", async () => {
    await withRun(async (page) => {
        assert.match(await told(page), /^Press a state/);
        const canvases = ["plane-canvas", "gain-canvas", "phase-canvas"];
        const before = await Promise.all(canvases.map((id) => picture(page, id)));
        // Two bits of 1 dB, then three of 45° lagging: one step of gain, two of phase.
        await pick(page, 9);
        assert.equal(
            await told(page),
            "Word 9 (hexadecimal 09) at 10 GHz: −1.0 dB and −90.0° relative to the reference, 0 dB, 0° and 0 % from its nominal −1 dB and −90°. " +
                "It is chosen for that setting.",
        );
        for (const [at, id] of canvases.entries()) assert.notEqual(await picture(page, id), before[at], `${id} marks it`);
        const svg = String(await saveExport(page, "plane.svg"));
        assert.match(svg, />\s*word 9\s*</, "the saved plane is the one seen");
        // Its codes: one step of gain, two of phase.
        const fields = await page.$$eval("#parts-field option", (all) => all.map((one) => one.textContent));
        assert.equal(fields.length, 2);
        const marked = (text) => page.waitForFunction((text) => document.querySelector("#parts-marked").textContent === text, {}, text);
        for (const [index, field] of fields.entries()) {
            await page.$eval("#parts-field", (select, index) => ((select.selectedIndex = index), select.dispatchEvent(new Event("change", { bubbles: true }))), index);
            const [code, word] = field.startsWith("gain") ? [1, 1] : [2, 8];
            await marked(`Marked is code ${code} of word 9 of the plane; with the other fields held, word ${word} is drawn for it.`);
        }
        const codes = String(await saveExport(page, "state-errors.svg"));
        assert.match(codes, />\s*code [12]\s*</, "the saved plot marks it too");
        // The plots on the page follow when they are seen.
        const marking = ["traces", "map", "codes", "cross", "weights", "share", "resolution", "constellation"];
        for (const id of marking.map((figure) => `${figure}-canvas`)) {
            const seen = async (word) => {
                await page.$eval(`#${id}`, (canvas) => canvas.scrollIntoView({ block: "center" }));
                await type(page, word);
                await page.$eval(`#${id}`, (canvas) => canvas.scrollIntoView({ block: "center" }));
                await page.waitForFunction((word) => document.querySelector("#parts-marked").textContent.includes(`word ${word} `), {}, word);
                await twoPictures(page);
                return picture(page, id);
            };
            assert.notEqual(await seen(4), await seen(9), `${id} marks it`);
        }
        // And what stands under them says so; heard in their place too.
        const said = (figure) => page.$eval(`#${figure}-canvas`, (canvas) => canvas.ariaLabel);
        assert.match(await said("weights"), / Framed are the bits that are set in word 9\.$/);
        // The part is ideal.
        assert.match(await said("error"), / Word 9 has no error from −1 dB and −90° that this scale could show\.$/);
        assert.match(await said("share"), / The bar at the foot is where word 9 is within tolerance of −1 dB and −90°\.$/);
        assert.match(await said("resolution"), / A disc marks the cells that have the setting of word 9, −1 dB and −90°\.$/);
        assert.match(await said("evm"), / Word 9 makes (a point of|no point)/);
        // Another frequency: the same word, told there.
        await page.$eval("#strip-canvas", (strip) => strip.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight", bubbles: true })));
        await page.waitForFunction(() => document.querySelector("#plane-picked").textContent.startsWith("Word 9 (hexadecimal 09) at 10.5 GHz"));
        // A word that was not measured picks nothing, and is told.
        await type(page, 99);
        assert.equal(await told(page), "The run has no word 99.");
    });
});

test("a state that is named by its voltage is picked by it, and told by it", async () => {
    const volts = [0, 2.5, 5, 7.5];
    const files = Object.fromEntries(volts.map((volt, step) => [`tune_${volt}V.s2p`, sweep(4 * step)]));
    await withFiles(files, async (page) => {
        await type(page, "5");
        assert.match(await told(page), /^Word 2 \(5 V\) at 10 GHz: /);
        await type(page, "7.5");
        assert.match(await told(page), /^Word 3 \(7\.5 V\) at 10 GHz: /);
        await type(page, "3");
        assert.equal(await told(page), "No state is named 3.");
    });
});

test("a press picks the state under the pointer, and one beside all states picks none", async () => {
    await withRun(async (page) => {
        const box = await (await page.$("#plane-canvas")).boundingBox();
        const y = box.y + box.height / 2;
        let x = box.x + box.width * 0.95;
        for (; x > box.x + box.width / 2; x -= 8) {
            await page.mouse.click(x, y);
            await twoPictures(page);
            if (/^Word/.test(await told(page))) break;
        }
        // To the right of the middle, at its height: no phase; the first met from outside has the most gain.
        assert.match(await told(page), /^Word 0 \(hexadecimal 00\) at 10 GHz: 0 dB and 0° relative/);
        assert.equal(await page.$eval("#plane-word", (input) => input.value), "0");
        await page.mouse.click(box.x + 12, box.y + 12);
        await twoPictures(page);
        assert.match(await told(page), /^Press a state/);
        assert.equal(await page.$eval("#plane-word", (input) => input.value), "");
    });
});

test("the state under the pointer shows its word and tolerance cell, and nothing when the pointer leaves", async () => {
    await withRun(async (page) => {
        const plain = await picture(page, "plane-canvas");
        const box = await (await page.$("#plane-canvas")).boundingBox();
        const y = box.y + box.height / 2;
        let pointed = plain;
        for (let x = box.x + box.width * 0.95; x > box.x + box.width / 2 && pointed === plain; x -= 8) {
            await page.mouse.move(x, y);
            await twoPictures(page);
            pointed = await picture(page, "plane-canvas");
        }
        assert.notEqual(pointed, plain, "a state was under the pointer");
        assert.match(await told(page), /^Press a state/, "pointing picks nothing");
        assert.equal(await page.$eval("#plane-word", (input) => input.value), "");
        await page.mouse.move(box.x + box.width / 2, box.y - 20);
        await twoPictures(page);
        assert.equal(await picture(page, "plane-canvas"), plain);
    });
});

test("a picked word's trace is that of its new file when the files are found to be in another order", async () => {
    const bits = (lowest, count) => Array.from({ length: count }, (_, bit) => ({ position: lowest + bit, inverted: false }));
    const fields = [
        { quantity: "gain", bits: bits(0, 2), step: 1, direction: "down" },
        { quantity: "phase", bits: bits(2, 3), step: 45, direction: "down" },
    ];
    // In Gray order the first two words stay with their files, the third file is word 3.
    const settings = (order) => JSON.stringify({ settings_version: 1, file_order: order, layout: { fields } });
    const traceOf3 = (files, then) =>
        withFiles(files, async (page) => {
            await pick(page, 3);
            const before = await picture(page, "gain-canvas");
            if (then) {
                await withFolder({ "settings.json": then }, async (dropped) => {
                    await dropFolder(page, path.join(dropped, "settings.json"));
                    await page.waitForFunction((before) => document.querySelector("#gain-canvas").toDataURL() !== before, {}, before);
                });
                await waitForPhase(page, "ready");
                await waitForComparison(page);
                await twoPictures(page);
            }
            return picture(page, "gain-canvas");
        });
    const named = await traceOf3({ ...idealRun(), "settings.json": settings(null) });
    const gray = await traceOf3({ ...idealRun(), "settings.json": settings("gray") });
    assert.notEqual(gray, named);
    assert.equal(await traceOf3({ ...idealRun(), "settings.json": settings(null) }, settings("gray")), gray);
});

test("the pointer over the traces names the nearest, and a press picks it", async () => {
    await withRun(async (page) => {
        const pointed = () => page.$eval("#trace-pointed", (one) => one.textContent);
        assert.match(await pointed(), /^Point at the traces/);
        for (const [id, expected] of [
            // Gains of 0 to −3 dB: down the middle of the plot, the lowest word of every gain comes by.
            ["gain-canvas", ["word 0 (", "word 1 (", "word 2 (", "word 3 ("]],
            // Phases in steps of 45°: from the top +135° to −180° at the bottom.
            ["phase-canvas", ["word 20 (", "word 24 (", "word 28 (", "word 0 (", "word 4 (", "word 8 (", "word 12 (", "word 16 ("]],
        ]) {
            const box = await (await page.$(`#${id}`)).boundingBox();
            await page.$eval(`#${id}`, (canvas) => canvas.scrollIntoView({ block: "center" }));
            const { x, y } = await (await page.$(`#${id}`)).boundingBox();
            const named = [];
            for (let down = 0; down < box.height; down += 3) {
                await page.mouse.move(x + box.width / 2, y + down);
                if (down === 0) await twoPictures(page);
                await new Promise((resolve) => setTimeout(resolve, 30));
                const word = /^At 10(?:\.5)? GHz the nearest trace is that of (word \d+ \()/.exec(await pointed())?.[1];
                if (word && word !== named.at(-1)) named.push(word);
            }
            // The circle's end is at the top as well as at the bottom.
            assert.deepEqual(named.filter((word, at) => !(at === 0 && word === "word 16 (" && id === "phase-canvas")), expected, id);
        }
        const { x, y, width, height } = await (await page.$("#phase-canvas")).boundingBox();
        let down = 0;
        for (; down < height; down += 3) {
            await page.mouse.move(x + width / 2, y + down);
            await new Promise((resolve) => setTimeout(resolve, 30));
            if (/word 8 \(/.test(await pointed())) break;
        }
        await page.mouse.click(x + width / 2, y + down);
        assert.match(await told(page), /^Word 8 \(hexadecimal 08\) at 10 GHz: /);
        await page.mouse.move(x + width / 2, y - 300);
        await page.waitForFunction(() => document.querySelector("#trace-pointed").textContent.startsWith("Point at"));
        // What a finger or a fast pointer presses is picked as soon as it is known, and another button picks nothing.
        await page.$eval("#plane-word", (input) => ((input.value = ""), input.dispatchEvent(new Event("input"))));
        assert.match(await told(page), /^Press a state/);
        await page.mouse.click(x + width * 0.7, y + down, { button: "right" });
        await twoPictures(page);
        assert.match(await told(page), /^Press a state/);
        await page.touchscreen.tap(x + width * 0.3, y + down);
        await page.waitForFunction(() => document.querySelector("#plane-picked").textContent.startsWith("Word 8 "));
    });
});

test("a pointer that rests points at what comes under it when the frequency moves", async () => {
    // From 10 GHz on every word but the first turns away by 20° a point.
    const turned = (word) =>
        sweep(word).replaceAll(/^([\d.]+) (.*)$/gm, (row, ghz, rest) => {
            if (word === 0 || Number(ghz) <= 10) return row;
            const turn = 40 * (Number(ghz) - 10);
            const values = rest.split(" ").map(Number);
            return [ghz, ...values.map((value, at) => (at === 3 || at === 5 ? value - turn : value))].join(" ");
        });
    const files = Object.fromEntries(Array.from({ length: 32 }, (_, word) => [name(word), turned(word)]));
    await withFiles(files, async (page) => {
        const box = await (await page.$("#plane-canvas")).boundingBox();
        const y = box.y + box.height / 2;
        const seen = new Set([await picture(page, "plane-canvas")]);
        // From outside the first word is met first, and stays where it is; then one that turns.
        for (let x = box.x + box.width * 0.95; x > box.x + box.width / 2 && seen.size < 3; x -= 4) {
            await page.mouse.move(x, y);
            await twoPictures(page);
            seen.add(await picture(page, "plane-canvas"));
        }
        assert.equal(seen.size, 3, "another state than the first was under the pointer");
        const before = await answer(page, "plane");
        await page.$eval("#strip-canvas", (strip) => strip.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight" })));
        await page.waitForFunction((before) => document.querySelector('[data-answer="plane"]').textContent !== before, {}, before);
        await waitForPhase(page, "ready");
        await twoPictures(page);
        const rests = await picture(page, "plane-canvas");
        await page.mouse.move(box.x + box.width / 2, box.y - 20);
        await twoPictures(page);
        assert.equal(rests, await picture(page, "plane-canvas"), "nothing is under it any more");
    });
});

test("the plane is magnified by buttons and the wheel, dragged, and whole again", async () => {
    await withRun(async (page) => {
        const whole = await picture(page, "plane-canvas");
        const isWhole = () => page.$eval("#plane-whole", (button) => button.disabled);
        assert.ok(await isWhole());
        await page.click("#plane-nearer");
        const nearer = await picture(page, "plane-canvas");
        assert.ok(nearer !== whole && !(await isWhole()));
        await page.click("#plane-farther");
        assert.equal(await picture(page, "plane-canvas"), whole, "as far back as it came");
        await page.click("#plane-nearer");
        const box = await (await page.$("#plane-canvas")).boundingBox();
        const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
        await page.mouse.move(x, y);
        await page.mouse.down();
        await page.mouse.move(x + 40, y + 25, { steps: 4 });
        await page.mouse.up();
        const dragged = await picture(page, "plane-canvas");
        assert.notEqual(dragged, nearer);
        assert.match(await told(page), /^Press a state/, "a drag picks nothing");
        const scrolled = await page.evaluate(() => scrollY);
        await page.keyboard.down("Control");
        await page.mouse.wheel({ deltaY: -120 });
        await page.keyboard.up("Control");
        await page.waitForFunction((before) => document.querySelector("#plane-canvas").toDataURL() !== before, {}, dragged);
        assert.equal(await page.evaluate(() => scrollY), scrolled, "the page stays");
        await page.click("#plane-whole");
        assert.equal(await picture(page, "plane-canvas"), whole);
        assert.ok(await isWhole());
    });
});
