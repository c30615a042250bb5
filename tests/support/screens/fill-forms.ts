import type { Page } from 'playwright';
import { expect } from 'vitest';

/** Fills the plan of a trial, with limits by age beside the typed one. */
export async function fillPlan(page: Page): Promise<void> {
  await page.getByLabel('Study', { exact: true }).selectOption({ index: 2 });
  await page.getByLabel('Subject').fill('S04');
  await page.getByLabel('Ensemble').fill('Coverall A, taped');
  await page.getByLabel('Series').selectOption({ index: 1 });
  await page.getByLabel('Heart-rate limit').fill('150');
  await page.getByLabel('Age', { exact: true }).fill('36');
  await page.getByLabel('Highest rate by').selectOption('208 − 0.7 · age');
  await page.getByLabel('Over 180 − age for').fill('3');
  await page.getByLabel('Requirement').fill('0.5');
}

/** From a plan that is filled in to its series and back: nothing is lost on the way, and all of it on any other. */
export async function lookAtSeries(page: Page): Promise<void> {
  const subject = page.getByLabel('Subject');
  await page.getByRole('button', { name: 'Edit series' }).click();
  // Its keys count once the screen is there.
  await page.getByRole('button', { name: 'To the plan' }).waitFor();
  await page.keyboard.press('p');
  await subject.waitFor();
  expect(await subject.inputValue()).toBe('S04');
  expect(await page.getByLabel('Age', { exact: true }).inputValue()).toBe('36');
  await page.getByRole('button', { name: 'Edit series' }).click();
  await page.getByRole('link', { name: 'Start' }).click();
  await page.getByRole('link', { name: 'Plan' }).click();
  expect(await subject.inputValue()).toBe('');
}

/** Adds a watched limit to the rig in the form, and is first told what is missing. */
export async function addLimit(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Add a limit' }).click();
  const limit = page.locator('.editor-watch');
  await limit.getByLabel('What the alarm says').fill('Heart rate low');
  await limit.getByLabel('Of instrument/stream').fill('belt/heart-rate');
  await limit.getByLabel('Alarm', { exact: true }).selectOption('below');
  await limit.getByLabel('Limit', { exact: true }).fill('45');
  await limit.getByLabel('What to do').fill('Ask the subject how they feel.');
  await page.getByRole('button', { name: 'Save as a new version and open it' }).click();
  await limit.getByText('Needed. Fill this in.').waitFor();
  await limit.getByLabel('Set by, or taken from').fill('the responsible person');
}

/** Says where the first instrument in trouble is: asks at a port, and takes the one that answers. */
export async function findPort(
  page: Page,
  clean: (name: string) => Promise<void>,
  asked: readonly string[],
): Promise<void> {
  await page.getByRole('button', { name: 'Use another port' }).first().click();
  // In use: nothing is asked there.
  expect(await page.getByLabel('Ask at /dev/ttyUSB0').isDisabled()).toBe(true);
  await page.getByText('is written to whatever is connected there').waitFor();
  await page.getByLabel('Ask at /dev/ttyUSB1').check();
  await page.getByRole('button', { name: 'Ask one port' }).click();
  await page.getByText('it is Bench, multimeter, 17').waitFor();
  await page.getByRole('button', { name: /^\/dev\/ttyUSB1/ }).click();
  await page.getByText('Found again as adapter 0403:6001 with serial number B7QM0PLC').waitFor();
  await page.getByLabel('Baud rate').fill('4800');
  await page.getByText('Too slow: a line of 28 characters × 10 bits × 20 a second = 5600 bit/s').waitFor();
  await clean('rig-connection');
  await page.getByLabel('Baud rate').fill('9600');
  await page.getByRole('button', { name: 'Use it' }).click();
  const identity = /^rig\.connect .*"baudRate":9600,"identity":\{.*"serialNumber":"B7QM0PLC","told":"Bench, /;
  await expect.poll(() => asked.some((one) => identity.test(one))).toBe(true);
}

/**
 * Is refused a file that is no series, begins one from a template, lengthens its first rest, splits its dwells, is told
 * what that costs, puts back what was removed, is asked before leaving, and saves.
 */
export async function editSeries(page: Page, clean: (name: string) => Promise<void>): Promise<void> {
  const bad = { name: 'bad.json', mimeType: 'application/json', buffer: Buffer.from('{"name":"Ours"}') };
  await page.getByLabel('Import a file').and(page.locator('input')).setInputFiles(bad);
  await page.getByText('The series does not satisfy its schema: version:').waitFor();
  const begin = page.getByRole('button', { name: 'New from this template: Coverall series, ten blocks' });
  await begin.focus();
  await page.keyboard.press('Enter');
  const rest = page.getByLabel('Rest before it');
  await rest.focus();
  await page.keyboard.press('Control+A');
  await page.keyboard.type('45');
  const dwells = page.getByLabel('Dwells per probe');
  await dwells.focus();
  await page.keyboard.press('Control+A');
  await page.keyboard.type('3');
  await page.getByText('15 dwells on a probe leave less than 3 s of usable air.').waitFor();
  // Keys of the hands count outside of fields: to the row of the exercise.
  await page.getByRole('button', { name: '1 March on the spot' }).focus();
  await page.keyboard.press('ArrowDown');
  await page.keyboard.press('u');
  await page.getByText('Exercise 3 of 11').waitFor();
  await page.keyboard.press('x');
  await clean('series-editor');
  await page.keyboard.press('z');
  await page.getByText('Exercise 3 of 11').waitFor();
  await page.getByRole('link', { name: 'Start' }).click();
  await page.getByText('Leave it all the same?').waitFor();
  await clean('series-leaving');
  await page.keyboard.press('Escape');
  await page.keyboard.press('s');
  await page.getByText('Plan a trial with it').waitFor();
}

/**
 * Looks at an instrument, is told what is wrong with a certificate, enters it with a wrong PIN and the right one,
 * and withdraws another by keyboard, with the way to the right one.
 */
export async function enterCertificate(
  page: Page,
  clean: (name: string) => Promise<void>,
  asked: readonly string[],
): Promise<void> {
  await page.getByRole('button', { name: /^PH-1/ }).click();
  await page.getByRole('img', { name: 'Zero, Mean: earlier results with their limits' }).waitFor();
  await clean('instruments-one');
  await page.keyboard.press('p');
  await page.getByRole('heading', { name: 'Where PH-1 works' }).waitFor();
  await clean('instruments-place');
  await page.keyboard.press('Escape');
  await page.keyboard.press('k');
  await page.getByLabel('Number of the certificate').fill('C-120');
  await page.getByLabel('Issued by').fill('Accredited laboratory 0417');
  await page.getByLabel('Value').fill('1.002');
  await page.getByLabel('Expanded uncertainty U').fill('0.02');
  await page.getByLabel('Coverage factor k').fill('2.13');
  await page.getByLabel('Coverage probability').fill('95.45');
  await page.getByLabel('Issued on').fill('2026-02-30');
  await page.getByRole('button', { name: 'Put it down' }).click();
  await page.getByText('Not a day. Write it like 2027-01-31.').first().waitFor();
  const today = new Date().toISOString().slice(0, 10);
  await page.getByLabel('Issued on').fill(today);
  await page.getByLabel('Valid until').fill(`${Number(today.slice(0, 4)) + 1}-01-31`);
  // Student's t of 95.45 % is 2.13 at 20 degrees of freedom (JCGM 100:2008, table G.2).
  await page.getByText('u = U/k = 0.00939, 20 degrees of freedom, as k tells').waitFor();
  await page.getByText('C-88 stays in the history and counts no longer.').waitFor();
  await page.getByLabel('PIN').fill('0000');
  await page.getByRole('button', { name: 'Put it down' }).click();
  await page.getByText('The PIN does not match').waitFor();
  await clean('instruments-certificate');
  await page.getByLabel('PIN').fill('4711');
  await page.keyboard.press('Enter');
  await page.getByRole('button', { name: 'Withdraw certificate C-88, Linearity' }).focus();
  await page.keyboard.press('Enter');
  await page.getByLabel('Why').fill('value mistyped');
  await clean('instruments-withdraw');
  await page.getByLabel('PIN').fill('4711');
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: 'A certificate of PH-1' }).waitFor();
  expect(await page.getByLabel('Number of the certificate').inputValue()).toBe('C-88');
  expect(asked.slice(-2)).toEqual([
    expect.stringMatching(/^register\.add .*"number":"C-120".* AM$/),
    expect.stringMatching(/^register\.add .*"record":4,"reason":"value mistyped".* AM$/),
  ]);
  await page.keyboard.press('Escape');
}

/** Looks at what changed between versions of the open rig, and at two between which nothing did. */
export async function compareVersions(page: Page, clean: (name: string) => Promise<void>): Promise<void> {
  await page.getByRole('button', { name: 'Versions' }).click();
  await page.getByText('things differ.').waitFor();
  await page.getByRole('rowheader', { name: 'Watched limit belt-low' }).waitFor();
  await clean('rig-versions');
  await page.getByLabel('After', { exact: true }).selectOption({ index: 2 });
  await page.getByText('Nothing differs but the number.').waitFor();
  await page.keyboard.press('Escape');
}
