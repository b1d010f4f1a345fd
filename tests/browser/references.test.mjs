// The demo's main plots look as they did: compared with small pictures in references/, where no text stands.
//
// After a change that is meant, `UPDATE_REFERENCES=yes node --test tests/browser/references.test.mjs` writes the
// pictures anew; look at them before they are committed.

import assert from "node:assert/strict";
import { readFile, writeFile } from "node:fs/promises";
import { test } from "node:test";
import { fileURLToPath } from "node:url";
import { saveExport, waitForComparison, waitForPhase } from "./browser.mjs";
import { withPage } from "./with_page.mjs";

const folder = fileURLToPath(new URL("references/", import.meta.url));

/** A pixel differs where none of its neighbours in the other picture is as near in every channel (0 … 255). */
const NEAR = 72;

/** So many of a hundred pixels may differ: other versions of a browser smooth lines otherwise. */
const ALLOWED_PCT = 0.1;

/**
 * The plots, each with how many pixels its reference is wide and with the part of it that is looked at (left, top, right, bottom in parts of the picture), which leaves
 * out axes and labels, since fonts differ; and the colours of its series on white paper, each of which has to be there.
 */
const plots = {
    "plane.png": { width: 200, part: [0.12, 0.12, 0.88, 0.88], series: [] },
    "relative-gain.png": { width: 200, part: [0.13, 0.15, 0.95, 0.75], series: [] },
    "errors.png": { width: 400, part: [0.07, 0.1, 0.88, 0.855], series: ["#a32a12", "#000000", "#145572"] },
    // The nominal words' line runs along the axis here.
    "share-within-tolerance.png": { width: 400, part: [0.07, 0.1, 0.88, 0.855], series: ["#a32a12", "#145572"] },
    "frequency-strip.png": { width: 400, part: [0.08, 0.36, 0.85, 0.66], series: ["#000000", "#a32a12"] },
    "bit-weights.png": { width: 400, part: [0.08, 0.18, 0.48, 0.8], series: ["#a32a12"] },
    "relative-phase.png": { width: 200, part: [0.13, 0.15, 0.95, 0.75], series: [] },
    "references.png": { width: 400, part: [0.07, 0.14, 0.72, 0.78], series: ["#a32a12", "#000000", "#145572"] },
    "code-traces.png": { width: 400, part: [0.1, 0.12, 0.9, 0.84], series: ["#000000"] },
    "error-map.png": { width: 200, part: [0.12, 0.12, 0.8, 0.8], series: [] },
    "state-errors.png": { width: 400, part: [0.08, 0.18, 0.94, 0.76], series: ["#a32a12"] },
    "resolution-map.png": { width: 400, part: [0.06, 0.1, 0.97, 0.84], series: ["#a32a12"] },
    "clean-bits.png": { width: 400, part: [0.07, 0.1, 0.88, 0.84], series: ["#a32a12", "#000000"] },
    "constellation.png": { width: 200, part: [0.15, 0.15, 0.85, 0.85], series: [] },
    "evm.png": { width: 400, part: [0.12, 0.2, 0.95, 0.85], series: ["#a32a12", "#000000"] },
};

/** What the dark screen shows of some of them, in its own colours. */
const dark = {
    "plane-canvas": { width: 200, part: [0.12, 0.12, 0.88, 0.88] },
    "gain-canvas": { width: 200, part: [0.13, 0.15, 0.95, 0.75] },
    "error-canvas": { width: 400, part: [0.07, 0.1, 0.88, 0.855] },
    "map-canvas": { width: 200, part: [0.12, 0.12, 0.8, 0.8] },
    "constellation-canvas": { width: 200, part: [0.15, 0.15, 0.85, 0.85] },
};

/** A PNG as pixels of a given width; the page's browser decodes and scales it. */
const pixels = (page, bytes, width) =>
    page.evaluate(
        async (base64, width) => {
            const binary = Uint8Array.from(atob(base64), (character) => character.charCodeAt(0));
            const image = await createImageBitmap(new Blob([binary], { type: "image/png" }));
            const canvas = new OffscreenCanvas(width, Math.round((width * image.height) / image.width));
            const context = canvas.getContext("2d");
            context.imageSmoothingQuality = "high";
            context.drawImage(image, 0, 0, canvas.width, canvas.height);
            const png = new Uint8Array(await (await canvas.convertToBlob({ type: "image/png" })).arrayBuffer());
            const text = (data) => btoa(Array.from(data, (byte) => String.fromCharCode(byte)).join(""));
            return { width: canvas.width, height: canvas.height, data: text(context.getImageData(0, 0, canvas.width, canvas.height).data), png: text(png) };
        },
        Buffer.from(bytes).toString("base64"),
        width,
    ).then((picture) => ({ ...picture, data: Buffer.from(picture.data, "base64"), png: Buffer.from(picture.png, "base64") }));

/** How many of a hundred pixels of a part differ, either way round. */
function differencePct(one, other, [left, top, right, bottom]) {
    assert.deepEqual([one.width, one.height], [other.width, other.height]);
    const { width, height } = one;
    const hasNear = (from, at, to, x, y) => {
        for (let row = Math.max(0, y - 1); row <= Math.min(height - 1, y + 1); row++) {
            for (let column = Math.max(0, x - 1); column <= Math.min(width - 1, x + 1); column++) {
                const there = 4 * (row * width + column);
                if ([0, 1, 2].every((channel) => Math.abs(from[at + channel] - to[there + channel]) <= NEAR)) return true;
            }
        }
        return false;
    };
    let differing = 0;
    let all = 0;
    for (let y = Math.round(top * height); y < bottom * height; y++) {
        for (let x = Math.round(left * width); x < right * width; x++) {
            const at = 4 * (y * width + x);
            all += 1;
            if (!hasNear(one.data, at, other.data, x, y) || !hasNear(other.data, at, one.data, x, y)) differing += 1;
        }
    }
    return (100 * differing) / all;
}

/** The picture without what has a colour, thinned to grey where it is smoothed: paper in its place. */
function without(picture, colour) {
    const wanted = [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16));
    const data = Buffer.from(picture.data);
    const isGrey = (channels) => Math.max(...channels) - Math.min(...channels) < 30;
    const allowed = isGrey(wanted) ? 175 : 110;
    for (let at = 0; at < data.length; at += 4) {
        const channels = [data[at], data[at + 1], data[at + 2]];
        const has = channels.every((channel, index) => Math.abs(channel - wanted[index]) < allowed) && isGrey(channels) === isGrey(wanted);
        if (has) data.fill(0xf0, at, at + 3);
    }
    return { ...picture, data };
}

test("the demo's plots look like their references, and would not with a series missing", async () => {
    await withPage({ fragment: "demo" }, async (page) => {
        await waitForPhase(page, "ready", 120_000);
        await waitForComparison(page);
        for (const [name, { width, part, series }] of Object.entries(plots)) {
            const now = await pixels(page, await saveExport(page, name), width);
            if (process.env.UPDATE_REFERENCES === "yes") await writeFile(folder + name, now.png);
            const reference = await pixels(page, await readFile(folder + name), width);
            const differs = differencePct(now, reference, part);
            console.log(`${name}: ${differs.toFixed(3)} % of the pixels differ`);
            assert.ok(differs <= ALLOWED_PCT, `${name} differs from its reference in ${differs} % of its pixels`);
            for (const colour of series) {
                const missing = differencePct(without(now, colour), reference, part);
                console.log(`  without ${colour}: ${missing.toFixed(2)} %`);
                assert.ok(missing > ALLOWED_PCT, `${name}: nobody would miss ${colour}`);
            }
            // An empty picture is noticed whatever the plot.
            const empty = { ...now, data: Buffer.alloc(now.data.length, 255) };
            assert.ok(differencePct(empty, reference, part) > ALLOWED_PCT, `${name}: nobody would miss all of it`);
        }
    });
});

test("on a dark screen the demo's plots look like their references", async () => {
    await withPage({ fragment: "demo" }, async (page) => {
        await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: "dark" }]);
        await waitForPhase(page, "ready", 120_000);
        await waitForComparison(page);
        for (const [id, { width, part }] of Object.entries(dark)) {
            await page.$eval(`#${id}`, (canvas) => canvas.scrollIntoView({ block: "center" }));
            const picture = () => page.$eval(`#${id}`, (canvas) => canvas.toDataURL("image/png").split(",")[1]);
            // Densities are counted when they are first seen.
            let before = "";
            for (let now = await picture(); now !== before; now = await picture()) {
                before = now;
                await new Promise((done) => setTimeout(done, 700));
            }
            const name = `dark/${id.replace("-canvas", "")}.png`;
            const now = await pixels(page, Buffer.from(before, "base64"), width);
            if (process.env.UPDATE_REFERENCES === "yes") await writeFile(folder + name, now.png);
            const reference = await pixels(page, await readFile(folder + name), width);
            const differs = differencePct(now, reference, part);
            console.log(`${name}: ${differs.toFixed(3)} % of the pixels differ`);
            assert.ok(differs <= ALLOWED_PCT, `${name} differs from its reference in ${differs} % of its pixels`);
            // Neither nothing drawn, which is as transparent or as dark as the corner, nor the same drawn for light paper would do.
            const corner = now.data.subarray(0, 4);
            const blank = { ...now, data: Buffer.from(now.data.map((_, at) => corner[at % 4])) };
            assert.ok(differencePct(blank, reference, part) > ALLOWED_PCT, `${name}: nobody would miss all of it`);
            const light = { ...now, data: Buffer.from(now.data.map((channel, at) => (at % 4 === 3 ? channel : 255 - channel))) };
            assert.ok(differencePct(light, reference, part) > ALLOWED_PCT, `${name}: nobody would miss the dark`);
        }
    });
});
