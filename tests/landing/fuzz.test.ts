import { mostlySpoiled } from '../support/fuzz-driver.ts';

/** Half of it through each framer. */
mostlySpoiled(Number(process.env['CHAMBERSIDE_LINES'] ?? 100_000));
