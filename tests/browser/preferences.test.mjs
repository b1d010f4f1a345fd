// Choices of display outlive the page; nothing of a run does.

import assert from "node:assert/strict";
import { test } from "node:test";
import { waitForComparison, waitForPhase } from "./browser.mjs";
import { withPage } from "./with_page.mjs";

const prefix = "sweepfold.display.";

/** All that may be kept, key by key, as the page's own selects offer it. */
const offered = (page) =>
    page.evaluate(() => Object.fromEntries(["paper", "table-rows", "parts-figure", "use-order"].map((id) =>
        [id, [...document.getElementById(id).options].map((one) => one.value)])));
const kept = (page) => page.evaluate(() => ({ ...localStorage }));
const value = (page, id) => page.$eval(`#${id}`, (one) => one.value);

/** Chooses as a user does, in sections that are not shown yet too. */
const choose = (page, id, value) =>
    page.$eval(`#${id}`, (one, value) => {
        one.value = value;
        one.dispatchEvent(new Event("change", { bubbles: true }));
    }, value);

async function reload(page) {
    await page.reload();
    await page.waitForSelector("#caution-list li");
}

test("choices of display survive a reload", async () => {
    await withPage({}, async (page) => {
        const choices = { paper: "letter", "table-rows": "band", "parts-figure": "group delay", "use-order": "16" };
        for (const [id, wanted] of Object.entries(choices)) {
            assert.notEqual(await value(page, id), wanted);
            await choose(page, id, wanted);
        }
        await reload(page);
        for (const [id, wanted] of Object.entries(choices)) assert.equal(await value(page, id), wanted, id);
    });
});

test("after a run with names typed, the storage holds allowed keys and values and nothing else", async () => {
    await withPage({}, async (page) => {
        const allowed = await offered(page);
        await page.click("#run-demo");
        await waitForPhase(page, "ready", 300_000);
        await waitForComparison(page, 300_000);
        await page.type("#part-name", "Secret part 77");
        await page.type("#operator", "Nobody Known");
        for (const select of await page.$$("main select")) {
            await select.evaluate((one) => {
                one.selectedIndex = one.options.length - 1;
                one.dispatchEvent(new Event("change", { bubbles: true }));
            });
        }
        // What the document was made to offer is not therefore allowed.
        await page.$eval("#paper", (one) => {
            one.append(new Option("x", "Secret part 77"));
            one.value = "Secret part 77";
            one.dispatchEvent(new Event("change", { bubbles: true }));
        });
        const all = await kept(page);
        assert.deepEqual(Object.keys(all).sort(), Object.keys(allowed).map((id) => prefix + id).sort());
        for (const [key, held] of Object.entries(all)) assert.ok(allowed[key.slice(prefix.length)].includes(held), `${key}: ${held}`);
        assert.equal(await page.evaluate(() => sessionStorage.length + document.cookie.length), 0);
    });
});

test("a value that the page does not offer is ignored, and so are other keys", async () => {
    await withPage({}, async (page) => {
        const before = Object.fromEntries(await Promise.all(["paper", "table-rows", "parts-figure", "use-order"].map(async (id) => [id, await value(page, id)])));
        await page.evaluate((prefix) => {
            for (const id of ["paper", "table-rows", "parts-figure", "use-order"]) localStorage.setItem(prefix + id, "<b>tampered</b>");
            localStorage.setItem(`${prefix}operator`, "Nobody Known");
            localStorage.setItem(`${prefix}transmission`, "S12");
        }, prefix);
        await reload(page);
        for (const [id, wanted] of Object.entries(before)) assert.equal(await value(page, id), wanted, id);
        assert.equal(await value(page, "operator"), "");
        assert.equal(await value(page, "transmission"), "S21");
    });
});

for (const [how, prepare] of Object.entries({
    "is refused": () => Object.defineProperty(globalThis, "localStorage", { get() { throw new DOMException("refused", "SecurityError"); } }),
    "is full": () => { Storage.prototype.setItem = () => { throw new DOMException("full", "QuotaExceededError"); }; },
    "cannot be read": () => { Storage.prototype.getItem = () => { throw new DOMException("locked", "InvalidStateError"); }; },
})) {
    test(`where storage ${how}, the page works and keeps nothing`, async () => {
        await withPage({ prepare }, async (page) => {
            await choose(page, "paper", "letter");
            assert.equal(await value(page, "paper"), "letter");
            await page.click("#run-demo");
            await waitForPhase(page, "ready", 300_000);
            assert.ok(await page.$eval("#paper-sheet", (one) => one.classList.contains("letter")));
            await reload(page);
            assert.equal(await value(page, "paper"), "a4");
        });
    });
}
