// Runs the page's demo without a window and prints its sheet: print-demo.mjs PAGE.html SHEET.pdf

import { openPage, printToPdf, waitForPhase } from "./browser.mjs";

const [file, sheet] = process.argv.slice(2);
const { page, close } = await openPage({ file, fragment: "demo" });
try {
    await waitForPhase(page, "ready", 600_000);
    await printToPdf(page, sheet);
} finally {
    await close();
}
