// Everyone can use the page: axe-core finds nothing, and the keyboard reaches and operates everything.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { test } from "node:test";
import { dropFolder, waitForChecks, waitForPhase } from "./browser.mjs";
import { idealRun, withFolder } from "./runs.mjs";
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
            await waitForChecks(page);
            await unfold(page);
            assert.deepEqual(await findings(page), [], "the demo");
        });
    });
}
