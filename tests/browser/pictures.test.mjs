// Every plot as a picture in pixels: twice as fine as on the page, on white paper, with something on it.

import assert from "node:assert/strict";
import { test } from "node:test";
import { fileURLToPath } from "node:url";
import { dropFolder, saveExport, waitForComparison, waitForPhase } from "./browser.mjs";
import { withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

const sample = fileURLToPath(new URL("../../samples/attenuator-5-bit", import.meta.url));

/** Which canvas of the page each picture is drawn after. */
const pictures = {
    "plane.png": "plane-canvas",
    "relative-gain.png": "gain-canvas",
    "relative-phase.png": "phase-canvas",
    "errors.png": "error-canvas",
    "references.png": "references-canvas",
    "share-within-tolerance.png": "share-canvas",
    "frequency-strip.png": "strip-canvas",
    "bit-weights.png": "weights-canvas",
    "code-traces.png": "traces-canvas",
    "error-map.png": "map-canvas",
    "state-errors.png": "codes-canvas",
    "cross-effects.png": "cross-canvas",
    "field-figure.png": "figure-canvas",
    "resolution-map.png": "resolution-canvas",
    "clean-bits.png": "clean-canvas",
};

/** Decodes a PNG in the page: its size, its corner's colour, and the share of pixels that are not paper. */
const decode = (page, bytes) =>
    page.evaluate(async (base64) => {
        const binary = Uint8Array.from(atob(base64), (character) => character.charCodeAt(0));
        const image = await createImageBitmap(new Blob([binary], { type: "image/png" }));
        const canvas = new OffscreenCanvas(image.width, image.height);
        const context = canvas.getContext("2d");
        context.drawImage(image, 0, 0);
        const { data } = context.getImageData(0, 0, image.width, image.height);
        let inked = 0;
        for (let at = 0; at < data.length; at += 4) inked += data[at] !== 255 || data[at + 1] !== 255 || data[at + 2] !== 255 ? 1 : 0;
        return { width: image.width, height: image.height, corner: [...data.slice(0, 4)], inked: inked / (image.width * image.height) };
    }, bytes.toString("base64"));

for (const scheme of ["light", "dark"]) {
    test(`every plot is saved as PNG, ink on white paper on a ${scheme} screen too`, async () => {
        await withPage({}, async (page) => {
            await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
            await dropFolder(page, sample);
            await waitForPhase(page, "ready");
            await waitForComparison(page);
            // An attenuator forms no constellations, so their plots are not offered.
            const offered = await page.$$eval("[data-export$='.png']:not([hidden])", (all) => all.map((one) => one.dataset.export));
            assert.deepEqual(offered.toSorted(), Object.keys(pictures).toSorted());
            for (const [name, canvas] of Object.entries(pictures)) {
                const saved = await saveExport(page, name);
                // The eight bytes that every PNG begins with (PNG specification, third edition, section 5.2).
                assert.deepEqual([...saved.subarray(0, 8)], [137, 80, 78, 71, 13, 10, 26, 10], name);
                const bounds = await page.$eval(`#${canvas}`, (one) => {
                    const { width, height } = one.getBoundingClientRect();
                    return { width, height };
                });
                const { width, height, corner, inked } = await decode(page, saved);
                assert.deepEqual([width, height], [Math.round(2 * bounds.width), Math.round(2 * bounds.height)], name);
                assert.deepEqual(corner, [255, 255, 255, 255], `${name} is on white paper`);
                // Axes alone ink about a hundredth; nothing inks nothing, and a dark picture nearly all.
                assert.ok(inked > 0.004 && inked < 0.9, `${name}: ${inked} of its pixels are inked`);
                console.log(`${name}: ${width} × ${height}, ${(100 * inked).toFixed(1)} % inked`);
            }
        });
    });
}

test("a density picture holds the traces and not the axes alone", async () => {
    // Two states 20 dB apart: two level traces across the whole plot, and nothing between them.
    const files = Object.fromEntries(
        [0, 1].map((word) => [`state_${word}.s2p`, `# GHz S DB R 50\n${[8, 9, 10].map((ghz) => `${ghz} -20 0 ${-3 - 20 * word} 0 ${-3 - 20 * word} 0 -20 0`).join("\n")}\n`]),
    );
    await withFolder(files, (folder) =>
        withPage({}, async (page) => {
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            const bytes = await saveExport(page, "relative-gain.png");
            const rows = await page.evaluate(async (base64) => {
                const binary = Uint8Array.from(atob(base64), (character) => character.charCodeAt(0));
                const image = await createImageBitmap(new Blob([binary], { type: "image/png" }));
                const context = new OffscreenCanvas(image.width, image.height).getContext("2d");
                context.drawImage(image, 0, 0);
                // A column a quarter across, clear of ticks and of the chosen frequency.
                const { data } = context.getImageData(Math.round(image.width / 4), 0, 1, image.height);
                const inked = Array.from({ length: image.height }, (_, row) => data[4 * row] < 250);
                return { height: image.height, inked: inked.flatMap((is, row) => (is ? [row] : [])) };
            }, bytes.toString("base64"));
            const inside = rows.inked.filter((row) => row > 0.1 * rows.height && row < 0.85 * rows.height);
            assert.ok(inside.length >= 2, `${inside}`);
            // The axis spans 20 dB and 4 % at either end: the two traces lie 20/21.6 of it apart.
            const apart = Math.max(...inside) - Math.min(...inside);
            assert.ok(apart > 0.6 * rows.height, `${inside} of ${rows.height}`);
        }),
    );
});
