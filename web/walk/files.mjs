// Files: save with comments kept, outside changes noticed and asked, nothing lost over reload and restart.
import { accessible, close, must, open, Server, until } from "./bench.mjs";
import { at, CASE, change, field, settled, write } from "./sheet-words.mjs";

export async function files(browser, program) {
  const server = await new Server(program).start();
  const page = await open(browser, at(server), { allow: ["412", "ERR_CONNECTION_REFUSED", "ERR_INCOMPLETE_CHUNKED_ENCODING", "ERR_CONNECTION_RESET", "ERR_EMPTY_RESPONSE"] });
  await settled(page);
  await saves(page, server);
  await takesOver(page, server);
  await asks(page, server);
  await refusesToOverwrite(page, server);
  await survives(page, server);
  await close(page);
  await server.end();
}

async function saves(page, server) {
  const before = server.read(CASE);
  await change(page, "seal.spring_force", "200 N");
  await page.keyboard.press("Control+s");
  await page.waitForSelector("text=Saved.");
  const after = server.read(CASE);
  must(after === before.replace('spring_force = "190 N"', 'spring_force = "200 N"'), "the file differs in the one value; comments and layout stay");
  must((await page.textContent(".name [role=status]")) === "saved", "the page says that it is saved");
}

async function takesOver(page, server) {
  server.write(CASE, server.read(CASE).replace('spring_force = "200 N"', 'spring_force = "210 N"'));
  await until("an outside change is taken over where nothing is lost", async () => (await field(page, "seal.spring_force").inputValue()) === "210 N");
  await settled(page);
}

async function asks(page, server) {
  await change(page, "seal.flush", "7 L/min");
  server.write(CASE, server.read(CASE).replace('face_runout = "0.03 mm"', 'face_runout = "0.04 mm"'));
  const question = page.locator("#conflict");
  await question.waitFor();
  must((await field(page, "seal.flush").inputValue()) === "7 L/min", "the own change stands while it is asked");
  await question.locator("text=See both").click();
  const lines = await question.locator(".lines").innerText();
  must(lines.includes("0.04 mm") && lines.includes("7 L/min"), "both changes are shown", lines);
  await accessible(page, "the question");
  await question.locator("text=Join both").click();
  await until("both changes are joined", async () => (await field(page, "machine.face_runout").inputValue()) === "0.04 mm" && (await field(page, "seal.flush").inputValue()) === "7 L/min");
  await page.keyboard.press("Control+s");
  await until("the joined text is saved", () => server.read(CASE).includes("0.04 mm") && server.read(CASE).includes("7 L/min"));
  await until("and said so", async () => (await page.textContent(".name [role=status]")) === "saved");
}

/** Saved at the same moment as somebody else: the file wins until it is answered. */
async function refusesToOverwrite(page, server) {
  await change(page, "seal.flush", "8 L/min");
  server.write(CASE, server.read(CASE).replace('face_runout = "0.04 mm"', 'face_runout = "0.05 mm"'));
  await page.keyboard.press("Control+s");
  const question = page.locator("#conflict");
  await question.waitFor();
  must(server.read(CASE).includes("0.05 mm") && !server.read(CASE).includes("8 L/min"), "the newer file is not overwritten");
  await question.locator("text=Take theirs").click();
  await until("theirs is taken", async () => (await field(page, "machine.face_runout").inputValue()) === "0.05 mm");
  await page.click("button:has-text('Undo')");
  await until("undo brings mine back", async () => (await field(page, "seal.flush").inputValue()) === "8 L/min");
  await page.click("button:has-text('Redo')");
  await settled(page);
}

async function survives(page, server) {
  await change(page, "duty.normal.temperature", "41 degC");
  await page.reload();
  await settled(page);
  must((await field(page, "duty.normal.temperature").inputValue()) === "41 degC", "unsaved text survives a reload");
  await server.stop();
  await page.waitForSelector("text=The server does not answer");
  await write(page, "seal.flush", "7 L/min");
  await page.keyboard.press("Tab");
  const flush = await field(page, "seal.flush").inputValue();
  must(flush === "7 L/min", "what is typed while the server is away stands in its field", flush);
  await server.start(Number(new URL(server.address).port));
  await until("the page finds the server again", async () => (await page.locator("text=The server does not answer").count()) === 0);
  must((await field(page, "duty.normal.temperature").inputValue()) === "41 degC", "unsaved text survives a restart of the server");
  await change(page, "duty.normal.temperature", "43 degC");
  await page.keyboard.press("Control+s");
  await until("and can be saved", () => server.read(CASE).includes("43 degC"));
  must(server.read(CASE).includes("7 L/min"), "and so is what was typed while the server was away");
}
