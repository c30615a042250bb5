import type { MenuItemConstructorOptions } from 'electron';
import { words } from './words.ts';

/**
 * The whole menu, in place of the runtime's own, which offers to load the page again and to open its tools. No entry
 * has a key that the console uses.
 * @param openStudy null where the host was started by somebody else, who chose its folder.
 */
export function menuTemplate(openStudy: (() => void) | null, trialUnderWay: boolean): MenuItemConstructorOptions[] {
  return [
    {
      label: words.menuFile,
      submenu: [
        ...(openStudy === null
          ? []
          : [{ label: words.openStudy, enabled: !trialUnderWay, click: openStudy }, { type: 'separator' as const }]),
        { role: 'quit', label: words.end },
      ],
    },
    {
      label: words.menuEdit,
      submenu: [{ role: 'cut' }, { role: 'copy' }, { role: 'paste' }, { role: 'selectAll' }],
    },
    {
      label: words.menuView,
      submenu: [{ role: 'resetZoom' }, { role: 'zoomIn' }, { role: 'zoomOut' }, { role: 'togglefullscreen' }],
    },
  ];
}
