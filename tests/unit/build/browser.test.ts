import { describe, expect, it } from 'vitest';
import { planBrowser, provideBrowser, type Machine } from '../../../build/browser.mjs';

function machine(programs: string[], more: Partial<Machine> = {}): Machine {
  const environment = { PATH: '/usr/local/bin:/usr/bin' };
  return { environment, userId: 1000, isExecutable: (path) => programs.includes(path), ...more };
}

describe('the browser of the end-to-end tests', () => {
  it('is the first that the search path holds, in the order of how well it is known', () => {
    expect(planBrowser(machine(['/usr/bin/google-chrome', '/usr/bin/chromium']))).toEqual({
      kind: 'found',
      path: '/usr/bin/chromium',
    });
    expect(planBrowser(machine(['/usr/local/bin/chromium', '/usr/bin/chromium']))).toMatchObject({
      path: '/usr/local/bin/chromium',
    });
  });

  it('is the one that is named, or none', () => {
    const environment = { PATH: '/usr/bin', CHAMBERSIDE_BROWSER: '/opt/mine' };
    expect(planBrowser(machine(['/opt/mine', '/usr/bin/chromium'], { environment }))).toEqual({
      kind: 'found',
      path: '/opt/mine',
    });
    const plan = planBrowser(machine(['/usr/bin/chromium'], { environment, userId: 0 }));
    expect(plan.kind).toBe('missing');
    expect(plan.kind === 'missing' && plan.say).toContain('/opt/mine');
  });

  it('is installed for root with apt, and for nobody else', () => {
    expect(planBrowser(machine(['/usr/bin/apt-get'], { userId: 0 })).kind).toBe('install');
    for (const other of [machine(['/usr/bin/apt-get']), machine([], { userId: 0 }), machine([], { userId: null })]) {
      const plan = planBrowser(other);
      expect(plan.kind === 'missing' && plan.say).toMatch(/apt-get install chromium.*CHAMBERSIDE_BROWSER/);
    }
  });

  it('is installed with words about it, after fetching the lists when it needs them', () => {
    const programs = ['/usr/bin/apt-get'];
    const ran: string[] = [];
    const said: string[] = [];
    const run = (words: readonly string[]): boolean => {
      ran.push(words.join(' '));
      if (words[1] === 'install' && ran.length > 1) programs.push('/usr/bin/chromium');
      return ran.length > 1;
    };
    expect(provideBrowser(machine(programs, { userId: 0 }), run, (text) => said.push(text))).toBe('/usr/bin/chromium');
    expect(ran.map((words) => words.split(' ')[1])).toEqual(['install', 'update', 'install']);
    expect(said.join('\n')).toContain("Installing Debian's chromium");
  });

  it('is given up with words about it when it cannot be installed', () => {
    const said: string[] = [];
    const root = machine(['/usr/bin/apt-get'], { userId: 0 });
    expect(
      provideBrowser(
        root,
        () => false,
        (text) => said.push(text),
      ),
    ).toBeNull();
    expect(said.at(-1)).toMatch(/could not be installed.*CHAMBERSIDE_BROWSER/);
    // The installer says that all went well, and yet there is none.
    expect(
      provideBrowser(
        root,
        () => true,
        (text) => said.push(text),
      ),
    ).toBeNull();
  });

  it('is not installed where there is one', () => {
    const run = (): boolean => {
      throw new Error('nothing is to be run');
    };
    expect(provideBrowser(machine(['/usr/bin/chromium'], { userId: 0 }), run, () => undefined)).toBe(
      '/usr/bin/chromium',
    );
  });
});
