// One test's page, watched: whatever the test does, nothing may leave the page.

import assert from "node:assert/strict";
import { openPage } from "./browser.mjs";

/** Opens the page, runs `use(page, opened)`, and then holds the page to its promises. */
export async function withPage(options, use) {
    const opened = await openPage(options);
    try {
        // The page listens once its module is compiled; its fixed texts are the sign.
        await opened.page.waitForSelector("#caution-list li");
        const result = await use(opened.page, opened);
        const left = opened.finishedRequests.filter((url) => !/^(file|blob|data):/.test(url));
        assert.deepEqual(left, [], "a request was answered");
        // A test may load the page again; it is still the only file.
        const files = new Set(opened.finishedRequests.filter((url) => url.startsWith("file:")));
        assert.equal(files.size, 1, `the page's own file and no other: ${[...files]}`);
        assert.deepEqual(await opened.violations(), [], "the policy had to step in");
        assert.deepEqual(opened.consoleErrors, [], "errors on the console");
        return result;
    } finally {
        await opened.close();
    }
}
