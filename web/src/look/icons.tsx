/** Drawn for this bench: one stroke, 32 by 32, the things themselves rather than signs for them. */

import type { ComponentChildren } from "preact";

function Drawn({ children }: { children: ComponentChildren }) {
  return (
    <svg
      class="icon"
      viewBox="0 0 32 32"
      width="32"
      height="32"
      fill="none"
      stroke="currentColor"
      stroke-width="1.9"
      stroke-linecap="round"
      stroke-linejoin="round"
      aria-hidden="true"
    >
      {children}
    </svg>
  );
}

export const BladeIcon = () => (
  <Drawn>
    <path d="M2.5 18.5c3-4.6 7-6.5 12-6.5h4.2v7.2c-6 1.4-11.5 1.2-16.2-.7z" />
    <path d="M18.7 10.600v10M18.7 12.600c3.3-.9 6.6-.8 9.8.2 1.2 2 1.2 4.2 0 6.2-3.2 1-6.5 1-9.8.2" />
    <path d="M22.5 16h.01M26 16h.01" stroke-width="2.6" />
  </Drawn>
);

export const SheathIcon = () => (
  <Drawn>
    <path d="M10 3.500h12.500v12c0 6-3.7 10-9 13-2.8-3-3.5-7-3.5-13z" />
    <path d="M10 8h12.5" />
    <path d="M19.5 12.500h.01M19.2 17h.01M17.8 21.300h.01" stroke-width="2.8" />
  </Drawn>
);

export const MouldIcon = () => (
  <Drawn>
    <path d="M2.5 21.500h27v5.500h-27z" />
    <path d="M6 21.500c1-7 4-11 10-11s9 4 10 11" />
    <path d="M11 21.500c.7-3.7 2.4-6 5-6s4.3 2.3 5 6" />
  </Drawn>
);

export const CutterIcon = () => (
  <Drawn>
    <path d="M12 3h8v7h-8z" />
    <path d="M12.8 10l6.4 4-6.4 4 6.4 4M19.2 10v12.500a3.2 3.2 0 0 1-6.4 0V10" />
    <path d="M3 28.500h26" />
  </Drawn>
);

export const FlameIcon = () => (
  <Drawn>
    <path d="M16.5 3c1 5-5.5 7.5-6.5 13.500C9.2 21.5 12 25 16 25s7-3 6.5-8c-.3-2.7-2-4.3-2.5-6.5-1.5 1-2 2.5-2 4-2-3-1-8-1.5-11.500z" />
    <path d="M5 28.800h22" />
  </Drawn>
);

export const DayIcon = () => (
  <Drawn>
    <path d="M16 5.500v3M16 23.500v3M5.5 16h3M23.5 16h3" />
    <circle cx="16" cy="16" r="12.5" />
    <path d="M16 10.500V16l4.5 2.8" />
  </Drawn>
);

export const SunIcon = () => (
  <Drawn>
    <circle cx="16" cy="16" r="5.5" />
    <path d="M16 3.500v4M16 24.500v4M3.5 16h4M24.5 16h4M7.2 7.200l2.8 2.800M22 22l2.8 2.800M7.2 24.800l2.8-2.800M22 10l2.8-2.8" />
  </Drawn>
);

export const MoonIcon = () => (
  <Drawn>
    <path d="M25.5 19.500A11 11 0 0 1 12.5 6.500a10.5 10.5 0 1 0 13 13z" />
  </Drawn>
);

export const BackIcon = () => (
  <Drawn>
    <path d="M8 12h12a6.5 6.5 0 0 1 0 13h-7M13 6.500L7.5 12l5.5 5.5" />
  </Drawn>
);

export const ForwardIcon = () => (
  <Drawn>
    <path d="M24 12H12a6.5 6.5 0 0 0 0 13h7M19 6.500l5.5 5.5-5.5 5.5" />
  </Drawn>
);

export const PlusIcon = () => (
  <Drawn>
    <path d="M16 6v20M6 16h20" />
  </Drawn>
);

export const LessIcon = () => (
  <Drawn>
    <path d="M6 16h20" />
  </Drawn>
);

export const WholeIcon = () => (
  <Drawn>
    <path d="M5 11V5h6M21 5h6v6M27 21v6h-6M11 27H5v-6" />
  </Drawn>
);
