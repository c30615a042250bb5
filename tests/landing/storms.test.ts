import { weatherStorms } from '../storms/weather.ts';

weatherStorms(Number(process.env['CHAMBERSIDE_STORMS'] ?? 200));
