/** Figures of two things side by side, with how far the second is from the first. */

import { figure } from "../state/units";
import "./compare_table.css";
import { told } from "../state/sentences";

export interface Row {
  readonly label: string;
  readonly a: number | string | null;
  readonly b: number | string | null;
  readonly unit: string;
  readonly difference: number | null;
  /** It stands in the files, and differs. */
  readonly setting: boolean;
}

interface TableProps {
  readonly rows: readonly Row[];
  readonly titles: readonly [string, string];
  readonly word: string;
}

export function CompareTable({ rows, titles, word }: TableProps) {
  if (!rows.length) return <p class="quiet">Nothing is set otherwise.</p>;
  return (
    <table class="compare-rows">
      <thead>
        <tr>
          <th scope="col">{word}</th>
          <th scope="col">{titles[0]}</th>
          <th scope="col">{titles[1]}</th>
          <th scope="col">Difference</th>
        </tr>
      </thead>
      <tbody>
        {rows.map((row) => (
          <tr key={row.label} class={row.difference ? "is-different" : ""}>
            <th scope="row">{told(row.label)}</th>
            <td>{said(row.a, row.unit)}</td>
            <td>{said(row.b, row.unit)}</td>
            <td>{signed(row.difference, row.unit)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

const LENGTHS = { mm: true, "mm²": true };

function said(value: Row["a"], unit: string): string {
  if (value === null) return "–";
  if (typeof value === "string") return told(value);
  if (unit === "share") return `${(100 * value).toFixed(1)} %`;
  if (unit in LENGTHS) return figure(value, unit);
  return `${Number(value.toPrecision(3))} ${unit}`.trim();
}

function signed(value: number | null, unit: string): string {
  if (value === null || value === 0) return "";
  const words = said(Math.abs(value), unit);
  return value > 0 ? `+${words}` : `−${words}`;
}
