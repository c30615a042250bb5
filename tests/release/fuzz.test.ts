import { mostlySpoiled } from '../support/fuzz-driver.ts';

mostlySpoiled(Number(process.env['CHAMBERSIDE_LINES'] ?? 1_000_000));
