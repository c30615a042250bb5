import { weatherStorms } from '../storms/weather.ts';

weatherStorms(Number(process.env['CHAMBERSIDE_STORMS'] ?? 2_000));
