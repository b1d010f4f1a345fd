// The run that the benches of the page read.

import { execFile } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdir, readdir, rename, rm } from "node:fs/promises";
import path from "node:path";
import { promisify } from "node:util";
import { outputFile } from "../browser/browser.mjs";

/** Frequencies of the run. */
export const points = 401;

/** The demo's 4,096 words at 401 points, made once. */
export async function largeRun() {
    const folder = outputFile(`bench/demo-${points}`);
    if (existsSync(folder) && (await readdir(folder)).length === 4096) return folder;
    const making = `${folder}.making`;
    await rm(making, { recursive: true, force: true });
    await mkdir(path.dirname(folder), { recursive: true });
    await promisify(execFile)("cargo", ["run", "--quiet", "--release", "--example", "generate", "--", "demo", making, "--points", String(points)]);
    await rename(making, folder);
    return folder;
}
