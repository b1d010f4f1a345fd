// Whatever is dropped, the page says what happened and what to do, and the rest goes on.

import assert from "node:assert/strict";
import { test } from "node:test";
import { answer, dropFolder } from "./browser.mjs";
import { idealRun, name, sweep, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

/** Everything that the page says of a folder: its message, answers, notes and left-out list. */
async function told(files, timeout = 30_000) {
    return withFolder(files, (folder) =>
        withPage({}, async (page) => {
            const started = Date.now();
            await dropFolder(page, folder);
            await page.waitForFunction(() => ["ready", "failed"].includes(document.querySelector("main").dataset.phase), { timeout });
            const leftOut = await page.$$eval("#left-out tr", (rows) => rows.map((row) => [...row.children].map((cell) => cell.textContent)));
            return {
                milliseconds: Date.now() - started,
                phase: await page.$eval("main", (main) => main.dataset.phase),
                message: await page.$eval("#message", (one) => (one.hidden ? "" : one.textContent)),
                cameIn: await answer(page, "came-in"),
                words: await answer(page, "words"),
                notes: await page.$$eval("#came-in-notes li", (all) => all.map((one) => one.textContent)),
                leftOut: Object.fromEntries(leftOut),
            };
        }),
    );
}

const sentence = (text) => assert.match(text, /^\p{Lu}.*[.!]$/su, `no sentence: "${text}"`);

test("an empty folder", async () => {
    const { cameIn, words } = await told({});
    sentence(cameIn);
    assert.match(cameIn, /empty|no files|[Nn]othing/);
    assert.match(words, /^No word can be given/);
});

test("a folder without S-parameter files", async () => {
    const { cameIn, leftOut } = await told({ "notes.txt": "torque 0.9 Nm", "photo.jpg": "x" });
    sentence(cameIn);
    assert.match(cameIn, /S-parameter/);
    assert.deepEqual(Object.keys(leftOut), ["notes.txt", "photo.jpg"]);
    Object.values(leftOut).forEach(sentence);
});

test("one file only", async () => {
    const { cameIn, words } = await told({ [name(0)]: sweep(0) });
    sentence(cameIn);
    assert.match(`${cameIn} ${words}`, /one|single|1 /i);
    assert.match(words, /^No word can be given/);
});

test("ports other than two", async () => {
    const one = Object.fromEntries([0, 1, 2, 3].map((word) => [name(word).replace("s2p", "s1p"), sweep(word, { ports: 1 })]));
    const { cameIn, leftOut } = await told(one);
    sentence(cameIn);
    assert.equal(Object.keys(leftOut).length, 4);
    assert.match(leftOut["state_00000.s1p"], /1 port;.*two/);
});

test("a file cut short is left out with its line, and the rest goes on", async () => {
    const whole = idealRun();
    const { cameIn, leftOut, words } = await told({ ...whole, [name(3)]: whole[name(3)].slice(0, 150) });
    assert.match(cameIn, /^31 of 32 words of 5 bits came in; for word 3 no usable file came/);
    assert.match(leftOut[name(3)], /[Ll]ine \d+/);
    assert.match(words, /^At 10 GHz the chosen words serve/);
});

test("two files for one word: the first is kept, the other is named", async () => {
    const { cameIn, leftOut } = await told({ ...idealRun(), [`again/${name(5)}`]: sweep(5) });
    assert.match(cameIn, /^32 words of 5 bits came in, none missing/);
    const [[path, why]] = Object.entries(leftOut);
    assert.ok(path.endsWith(name(5)));
    assert.match(why, /^Word 5 is already given by/);
});

test("words that fit no layout", async () => {
    // Bits that do not double: 1, 1.1, 1.2 … dB cannot be a binary field.
    const files = Object.fromEntries(
        Array.from({ length: 32 }, (_, word) => {
            const gain = () => -[1, 1.1, 1.2, 1.35, 1.4].reduce((sum, weight, bit) => sum + weight * ((word >> bit) & 1), 0);
            return [name(word), sweep(word & 3, { gain })];
        }),
    );
    const { cameIn, words } = await told(files);
    assert.match(cameIn, /^32 words/);
    sentence(words);
    assert.match(words, /layout/);
});

test("words of more than 16 bits", async () => {
    const files = Object.fromEntries([0, 70_000, 140_001, 1_000_000].map((word) => [`x_${word}.s2p`, sweep(word & 31)]));
    const { cameIn, words, notes } = await told(files);
    sentence(cameIn);
    sentence(words);
    assert.match(`${cameIn} ${notes.join(" ")}`, /16 bits/);
});

test("a 100 MB text that is not Touchstone is refused fast, by line", async () => {
    const prose = Buffer.alloc(100_000_000, "The quick brown fox jumps over the lazy dog 1 2 3.\n");
    const { cameIn, leftOut, milliseconds } = await told({ ...idealRun(), [name(9)]: prose }, 60_000);
    assert.match(cameIn, /^31 of 32 words/);
    sentence(leftOut[name(9)]);
    console.log(`100 MB of prose among 31 files: answers after ${milliseconds} ms`);
});

test("numbers without an option line are refused, not guessed", async () => {
    const bare = sweep(9).replace(/^#.*$/m, "");
    const { leftOut } = await told({ ...idealRun(), [name(9)]: bare });
    assert.match(leftOut[name(9)], /option line/);
});

test("another grid is named, not mixed in; another reference is renormalised, and said", async () => {
    const { cameIn, leftOut, notes } = await told({ ...idealRun(), [name(6)]: sweep(6, { points: 8 }), [name(7)]: sweep(7, { ohm: 75 }) });
    assert.match(cameIn, /^31 of 32 words/);
    assert.match(leftOut[name(6)], /8 (points|frequencies)/);
    assert.match(notes.join("\n"), /1 state was renormalised from 75 Ω to the run's 50 Ω/);
});

test("names that give no word", async () => {
    const files = Object.fromEntries(["left", "right", "upper", "lower"].map((stem, word) => [`${stem}.s2p`, sweep(word)]));
    const { cameIn, words } = await told(files);
    sentence(cameIn);
    sentence(words);
});

test("a damaged settings file", async () => {
    const damaged = await told({ ...idealRun(), "settings.json": "{\"settings_version\": 1, \"tolerance\": " });
    assert.equal(damaged.phase, "ready", "the run goes on");
    assert.match(damaged.cameIn, /^32 words/);
    assert.match(damaged.message, /^settings\.json: /);
    sentence(damaged.message.replace("settings.json: ", ""));
});
