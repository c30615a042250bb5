import type { Method } from '../model/method.ts';
import { adaptiveMethod } from './adaptive-method.ts';
import { firstMethod } from './default-method.ts';
import { quickMethod } from './method-for-rig.ts';

/** The methods that come with the program, by which a trial can be assessed again; each name once. */
export const shippedMethods: readonly Method[] = [firstMethod, quickMethod, adaptiveMethod];
