// Looks at pages with a browser that is driven over its debugging pipe (messages of JSON, each ended
// by a zero byte). First it looks at a page full of faults, which it has to find.
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';

const [browser, axeFile, ...pages] = process.argv.slice(2);
const axe = readFileSync(axeFile, 'utf8');
const home = mkdtempSync(join(tmpdir(), 'papers-'));
const flags = ['--headless', '--remote-debugging-pipe', '--disable-gpu', '--no-first-run', '--disable-extensions',
  '--disable-background-networking', '--host-resolver-rules=MAP * ~NOTFOUND', `--user-data-dir=${home}`, 'about:blank'];
if (process.getuid() === 0) flags.unshift('--no-sandbox');
const child = spawn(browser, flags, { stdio: ['ignore', 'ignore', 'ignore', 'pipe', 'pipe'] });
const patience = setTimeout(() => { console.error('the browser took longer than a minute'); child.kill('SIGKILL'); process.exit(1); }, 60_000);

let number = 0;
let rest = '';
const waiting = new Map();
const listeners = new Set();
child.stdio[4].setEncoding('utf8');
child.stdio[4].on('data', (chunk) => {
  const messages = (rest + chunk).split('\0');
  rest = messages.pop();
  for (const text of messages) {
    const m = JSON.parse(text);
    if (m.id) {
      const { resolve, reject } = waiting.get(m.id);
      waiting.delete(m.id);
      m.error ? reject(new Error(m.error.message)) : resolve(m.result);
    } else listeners.forEach((f) => f(m));
  }
});

const send = (method, params = {}, sessionId) => new Promise((resolve, reject) => {
  waiting.set(++number, { resolve, reject });
  child.stdio[3].write(JSON.stringify({ id: number, method, params, sessionId }) + '\0');
});

// look returns what is wrong with a page.
async function look(file, quiet = false) {
  const url = pathToFileURL(file).href;
  const wrong = [];
  const { targetId } = await send('Target.createTarget', { url: 'about:blank' });
  const { sessionId } = await send('Target.attachToTarget', { targetId, flatten: true });
  let loaded;
  const load = new Promise((resolve) => { loaded = resolve; });
  const hear = (m) => {
    if (m.sessionId !== sessionId) return;
    const p = m.params;
    switch (m.method) {
      case 'Page.loadEventFired': loaded(); break;
      case 'Network.requestWillBeSent':
        if (p.request.url !== url && !p.request.url.startsWith('data:')) wrong.push(`fetched ${p.request.url}`);
        break;
      case 'Log.entryAdded': wrong.push(`console: ${p.entry.text}`); break;
      case 'Runtime.exceptionThrown': wrong.push(`exception: ${p.exceptionDetails.text}`); break;
      case 'Runtime.consoleAPICalled': wrong.push(`console: ${p.args.map((a) => a.value).join(' ')}`); break;
    }
  };
  listeners.add(hear);
  for (const domain of ['Page', 'Network', 'Log', 'Runtime']) await send(`${domain}.enable`, {}, sessionId);
  await send('Page.navigate', { url }, sessionId);
  await load;
  const evaluate = async (expression) => {
    const r = await send('Runtime.evaluate', { expression, awaitPromise: true, returnByValue: true }, sessionId);
    if (r.exceptionDetails) throw new Error(r.exceptionDetails.exception?.description ?? r.exceptionDetails.text);
    return r.result.value;
  };
  await new Promise((resolve) => setTimeout(resolve, 300)); // what is fetched late is heard
  wrong.push(...await evaluate(`[...document.images].filter((i) => !i.alt).map((i) => 'a picture without words: ' + i.src.slice(0, 40))`));
  wrong.push(...await evaluate(`[...document.querySelectorAll('svg')].filter((s) => !s.querySelector('title')?.textContent).map(() => 'a drawing without a title')`));
  wrong.push(...await evaluate(`document.scripts.length ? ['a script'] : []`));
  if (!await evaluate(`getComputedStyle(document.querySelector('h1') ?? document.body).fontSize`)) wrong.push('no style');
  await evaluate(axe + '; 0');
  const found = await evaluate(`axe.run().then((r) => ({ passed: r.passes.length, violations: r.violations.map((v) => ({ id: v.id, impact: v.impact, at: v.nodes[0].html.slice(0, 120) })) }))`);
  for (const v of found.violations) {
    const text = `axe: ${v.impact}: ${v.id} at ${v.at}`;
    if (v.impact === 'serious' || v.impact === 'critical') wrong.push(text);
    else if (!quiet) console.log(`   ${text}`);
  }
  const pictures = await evaluate(`document.images.length + document.querySelectorAll('svg').length`);
  const policed = await evaluate(`!document.querySelector('table') || getComputedStyle(document.querySelector('table')).borderCollapse === 'collapse'`);
  if (!policed) wrong.push('the policy keeps the style of the page away');
  listeners.delete(hear);
  await send('Target.closeTarget', { targetId });
  return { wrong, passed: found.passed, pictures };
}

let failed = false;
try {
  const bad = join(home, 'bad.html');
  writeFileSync(bad, `<html><head><title></title></head><body><img src="http://example.invalid/x.png"><svg width="9" height="9"></svg><script>console.error('x'); nothing();</script><p style="color:#eee">pale</p></body></html>`);
  const { wrong } = await look(bad, true);
  for (const must of ['fetched http', 'console: x', 'exception', 'a picture without words', 'a drawing without a title', 'a script', 'axe: critical: image-alt', 'axe: serious: color-contrast']) {
    if (!wrong.some((w) => w.includes(must))) { failed = true; console.error(`a page with faults passes: no "${must}" in ${JSON.stringify(wrong)}`); }
  }
  for (const page of pages) {
    const seen = await look(page);
    console.log(`-- ${page.split('/').pop()}: ${seen.pictures} pictures, axe-core passed ${seen.passed} rules, ${seen.wrong.length} faults`);
    for (const w of seen.wrong) { failed = true; console.error(`   ${w}`); }
    if (seen.pictures === 0 || seen.passed < 10) { failed = true; console.error('   nothing was examined'); }
  }
} catch (e) {
  failed = true;
  console.error(e);
}
clearTimeout(patience);
await send('Browser.close').catch(() => {});
await new Promise((resolve) => { child.on('exit', resolve); setTimeout(() => { child.kill('SIGKILL'); }, 5000).unref(); });
rmSync(home, { recursive: true, force: true });
process.exit(failed ? 1 : 0);
