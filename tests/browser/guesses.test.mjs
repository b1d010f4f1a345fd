// What the page made up its own mind on is said in words: guesses in the margin, defaults beside their controls.

import assert from "node:assert/strict";
import { test } from "node:test";
import { chooseFolder, dropFolder, waitForChecks, waitForPhase } from "./browser.mjs";
import { idealRun, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

const texts = (page, selector) => page.$$eval(selector, (all) => all.map((one) => one.textContent));

/** The controls that are said to be at their defaults, as an eye and as a screen reader are told. */
const marked = (page) =>
    page.$$eval("small.default", (all) => all.filter((one) => one.checkVisibility()).map((one) => one.id.replace(/-default$/, "")).sort());
const described = (page) =>
    page.$$eval('[aria-describedby*="-default"]', (all) => all.map((one) => one.id).filter((id) => document.getElementById(`${id}-default`)).sort());

const set = (page, selector, value) =>
    page.$eval(selector, (control, value) => {
        if (control.type === "select-one") control.selectedIndex = value;
        else control.value = value;
        control.dispatchEvent(new Event("change", { bubbles: true }));
    }, value);

async function withRun(use) {
    await withFolder(idealRun(), (folder) => withPage({}, async (page) => {
        await dropFolder(page, folder);
        await waitForPhase(page, "ready");
        await waitForChecks(page);
        await use(page);
    }));
}

test("every guess in the margin begins by saying so, gives its reason and says where to correct it", async () => {
    await withRun(async (page) => {
        const guesses = await texts(page, ".margin .guess");
        // The names, the layout, and the order of capture.
        assert.ok(guesses.length >= 3, guesses.join("\n"));
        for (const guess of guesses) assert.match(guess, /^A guess: .+\. Why: .+\. To correct it: .+\.$/);
        assert.equal((await texts(page, ".margin li:not(.guess)")).filter((note) => note.startsWith("A guess")).length, 0);
    });
});

test("how the names are read is a guess while files are still being read", async () => {
    await withFolder(idealRun(), (folder) => withPage({}, async (page) => {
        await page.evaluate(() => {
            globalThis.seenWhileReading = new Set();
            new MutationObserver(() => {
                if (document.querySelector("main").dataset.phase !== "reading") return;
                for (const note of document.querySelectorAll("#came-in-notes li")) seenWhileReading.add(`${note.className}: ${note.textContent}`);
            }).observe(document.querySelector("#came-in-notes"), { childList: true, subtree: true });
        });
        await chooseFolder(page, "Choose a sweep folder", folder);
        await waitForPhase(page, "ready");
        const seen = await page.evaluate(() => [...seenWhileReading]);
        assert.ok(seen.length > 0);
        for (const note of seen) assert.match(note, /^guess: A guess: /);
    }));
});

test("the order of capture can be corrected in place", async () => {
    await withRun(async (page) => {
        const said = (start) =>
            page.waitForFunction((start) => document.querySelector("#trust-notes li")?.textContent.startsWith(start), {}, start);
        await said("A guess: the files were captured in");
        await set(page, "#capture-order", 2);
        await said("The files were captured in counting order, the lowest word first, as you said.");
        await set(page, "#capture-order", 0);
        await said("A guess: the files were captured in");
    });
});

test("a control at its default says so until it is set", async () => {
    await withRun(async (page) => {
        const all = ["band-error", "band-low", "every-gain", "every-phase", "held-codes", "reference", "rule",
            "tolerance-gain", "tolerance-percent", "tolerance-phase", "transmission", "usable-share"];
        assert.deepEqual(await marked(page), all);
        assert.deepEqual(await described(page), all);
        assert.equal(await page.$eval("#band-high", (one) => one.getAttribute("aria-describedby")), "band-low-default");

        const changes = [["#tolerance-phase", "3"], ["#band-low", "9"], ["#reference", 1], ["#rule", 1], ["#transmission", 1],
            ["#usable-share", "80"], ["#band-error", 1], ["#every-gain", "2"]];
        for (const [selector, value] of changes) await set(page, selector, value);
        await waitForPhase(page, "ready");
        assert.deepEqual(await marked(page), ["every-phase", "held-codes"]);
        assert.deepEqual(await described(page), ["every-phase", "held-codes"]);

        await page.$eval("#rules-reset", (one) => one.click());
        await waitForPhase(page, "ready");
        assert.deepEqual(await marked(page), all.filter((id) => !["band-error", "usable-share"].includes(id)));
        // The word is no part of any control's name.
        const name = await page.accessibility.snapshot({ root: await page.$("#tolerance-phase") });
        assert.equal(name.name, "Phase within ± °");
        assert.equal(name.description, "default");
    });
});
