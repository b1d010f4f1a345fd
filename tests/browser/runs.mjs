// Folders to drop: the demo's 4,096 words as files on disk, and small runs made here.

import { execFile } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdir, mkdtemp, readdir, rename, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { outputFile } from "./browser.mjs";

const repository = fileURLToPath(new URL("../..", import.meta.url));

/** The layout with which the generator makes the demo, in the form of settings.json. */
export const demoLayout = {
    fields: [
        { quantity: "phase", bits: bits(0, 7), step: 2.8125, direction: "down" },
        { quantity: "gain", bits: bits(7, 5), step: 0.5, direction: "down" },
    ],
};

function bits(lowest, count) {
    return Array.from({ length: count }, (_, bit) => ({ position: lowest + bit, inverted: false }));
}

/** The demo's 4,096 files in tests/out/crosscheck/states, made once by the generator. */
export async function demoRun() {
    const folder = outputFile("crosscheck/states");
    if (existsSync(folder) && (await readdir(folder)).length === 4096) return folder;
    const making = `${folder}.making`;
    await rm(making, { recursive: true, force: true });
    await rm(folder, { recursive: true, force: true });
    await mkdir(path.dirname(folder), { recursive: true });
    const generate = ["run", "--quiet", "--release", "--example", "generate", "--", "demo", making];
    await promisify(execFile)("cargo", generate, { cwd: repository });
    await rename(making, folder);
    return folder;
}

/** A sweep of an ideal part: bits 0 and 1 attenuate by 1 dB, bits 2 to 4 lag by 45°. */
export function sweep(word, { points = 9, ohm = 50, gain = (code) => -code, ports = 2 } = {}) {
    let text = `! made up for a test\n# GHz S DB R ${ohm}\n`;
    for (let point = 0; point < points; point++) {
        const ghz = 8 + point / 2;
        const transmission = `${-6 + gain(word & 3)} ${-40 * ghz - 45 * ((word >> 2) & 7)}`;
        text += ports === 1 ? `${ghz} -20 10\n` : `${ghz} -20 10 ${transmission} ${transmission} -18 -30\n`;
    }
    return text;
}

/** The ideal part's 32 words as `name → text`. */
export function idealRun() {
    return Object.fromEntries(Array.from({ length: 32 }, (_, word) => [name(word), sweep(word)]));
}

export const name = (word) => `state_${word.toString(2).padStart(5, "0")}.s2p`;

/** Writes files into a fresh folder, runs `use` on it, and removes it. */
export async function withFolder(files, use) {
    const folder = await mkdtemp(path.join(tmpdir(), "sweepfold-run-"));
    try {
        for (const [file, content] of Object.entries(files)) {
            await mkdir(path.dirname(path.join(folder, file)), { recursive: true });
            await writeFile(path.join(folder, file), content);
        }
        return await use(folder);
    } finally {
        await rm(folder, { recursive: true });
    }
}
