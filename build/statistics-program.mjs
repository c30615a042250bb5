import { provideProgram } from './debian-program.mjs';

/**
 * Sees to R, which computes again what the program computes.
 * @param {import('./browser.mjs').Machine} [machine]
 * @param {(words: readonly string[]) => boolean} [run]
 * @param {(text: string) => void} [say]
 */
export function provideR(machine, run, say) {
  const wanted = {
    program: 'Rscript',
    from: 'r-base-core',
    purpose: 'Tests compute again with R',
    whatToDo: "Install R ('apt-get install r-base-core' as root on Debian).",
  };
  return provideProgram(wanted, machine, run, say);
}
