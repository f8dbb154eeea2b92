import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const source = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** The accessibility checker run inside a page, whose policy would refuse it as a script element. */
export class AxeBuilder {
  constructor(page) {
    this.page = page;
  }

  async faults() {
    await this.page.evaluate(source);
    const found = await this.page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
    const grave = found.violations.filter((violation) => ["serious", "critical"].includes(violation.impact));
    return grave.map((violation) => `${violation.id}: ${violation.help}; ${violation.nodes.slice(0, 3).map((node) => `${node.html.slice(0, 160)} ${node.failureSummary ?? ""}`).join(" | ")}`);
  }
}
