import type { Page } from 'playwright';

/** Parts of a live screen that lie over each other, or stick out of it. */
export function collidingParts(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const chosen = 'main > *:not(.hands, .console-main), .hands > *, .console-main > *';
    const parts = [...document.querySelectorAll(chosen)].map((one) => ({
      name: one.className.toString() || one.tagName,
      box: one.getBoundingClientRect(),
    }));
    const found: string[] = [];
    for (const [index, { name, box }] of parts.entries()) {
      if (box.bottom > window.innerHeight + 1 || box.right > window.innerWidth + 1) found.push(`${name} outside`);
      for (const other of parts.slice(index + 1)) {
        const across = Math.min(box.right, other.box.right) - Math.max(box.left, other.box.left);
        const down = Math.min(box.bottom, other.box.bottom) - Math.max(box.top, other.box.top);
        if (across > 1 && down > 1) found.push(`${name} over ${other.name}`);
      }
    }
    return found;
  });
}
