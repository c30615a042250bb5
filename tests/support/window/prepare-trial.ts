import type { Page } from 'playwright';

export async function at(page: Page, address: string): Promise<void> {
  await page.evaluate((hash) => {
    window.location.hash = hash;
  }, address);
}

/** Somebody steps up to the rig, makes a study, and prepares a trial of the shortest series, in a window. */
export async function prepareTrial(
  page: Page,
  names: { readonly study: string; readonly heartRateLimit: string },
): Promise<void> {
  await at(page, '/person');
  await page.getByLabel('Code', { exact: true }).fill('KL');
  await page.getByLabel('Name', { exact: true }).fill('Kim Lind');
  await page.getByLabel('PIN', { exact: true }).fill('4711');
  await page.getByLabel('PIN again').fill('4711');
  await page.keyboard.press('Enter');
  await page.getByText('At the rig: KL').waitFor();
  await at(page, '/plan');
  await page.getByRole('button', { name: /new study/i }).click();
  await page.keyboard.type(names.study);
  await page.keyboard.press('Enter');
  await page.getByLabel('Study', { exact: true }).getByText(names.study).waitFor({ state: 'attached' });
  await page.getByLabel('Subject', { exact: true }).fill('S04');
  await page.getByLabel('Ensemble').fill('Coverall A');
  await page.getByLabel('Series').selectOption({ label: await seriesOf(page) });
  await page.getByLabel('Heart-rate limit').fill(names.heartRateLimit);
  await page.getByLabel('Requirement').fill('0.5');
  await page.locator('.plan-table').waitFor();
  await page.getByRole('button', { name: /prepare the trial/i }).click();
  await page.locator('.console').waitFor({ timeout: 15_000 });
  // The stop contact has to be heard before a trial may start.
  await page.locator('.hand-first:enabled').waitFor({ timeout: 10_000 });
}

async function seriesOf(page: Page): Promise<string> {
  const labels = await page.getByLabel('Series').locator('option').allInnerTexts();
  const found = labels.find((label) => label.includes('As short as it goes'));
  if (found === undefined) throw new Error(`the quick series is not offered: ${labels.join(', ')}`);
  return found;
}
