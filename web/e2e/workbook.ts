// A small XLSX workbook, written by hand: one sheet, texts in place, a ZIP
// without compression (ECMA-376; APPNOTE.TXT of the ZIP format).
import { crc32 } from "node:zlib";

const escaped = (text: string) => text.replace(/[&<>]/g, (sign) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;" })[sign] ?? sign);
const column = (n: number) => String.fromCharCode(65 + n);
const HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>';

export function workbook(sheet: string, rows: string[][]): Buffer {
  const cells = rows.map((row, r) => `<row r="${r + 1}">${row.map((text, c) => cell(text, `${column(c)}${r + 1}`)).join("")}</row>`).join("");
  const office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
  const main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
  const parts = "http://schemas.openxmlformats.org/package/2006";
  const kinds = "application/vnd.openxmlformats-officedocument.spreadsheetml";
  return zip([
    ["[Content_Types].xml", `${HEAD}<Types xmlns="${parts}/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="${kinds}.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="${kinds}.worksheet+xml"/></Types>`],
    ["_rels/.rels", `${HEAD}<Relationships xmlns="${parts}/relationships"><Relationship Id="r1" Type="${office}/officeDocument" Target="xl/workbook.xml"/></Relationships>`],
    ["xl/workbook.xml", `${HEAD}<workbook xmlns="${main}" xmlns:r="${office}"><sheets><sheet name="${escaped(sheet)}" sheetId="1" r:id="r1"/></sheets></workbook>`],
    ["xl/_rels/workbook.xml.rels", `${HEAD}<Relationships xmlns="${parts}/relationships"><Relationship Id="r1" Type="${office}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`],
    ["xl/worksheets/sheet1.xml", `${HEAD}<worksheet xmlns="${main}"><sheetData>${cells}</sheetData></worksheet>`],
  ]);
}

function cell(text: string, place: string): string {
  if (/^-?\d+(\.\d+)?$/.test(text)) return `<c r="${place}"><v>${text}</v></c>`;
  return `<c r="${place}" t="inlineStr"><is><t>${escaped(text)}</t></is></c>`;
}

function zip(files: [string, string][]): Buffer {
  const bodies: Buffer[] = [];
  const list: Buffer[] = [];
  let offset = 0;
  for (const [name, text] of files) {
    const [path, body] = [Buffer.from(name), Buffer.from(text)];
    const about = Buffer.alloc(26);
    about.writeUInt16LE(20, 0);
    about.writeUInt32LE(crc32(body), 10);
    about.writeUInt32LE(body.length, 14);
    about.writeUInt32LE(body.length, 18);
    about.writeUInt16LE(path.length, 22);
    const local = Buffer.concat([Buffer.from("PK\u0003\u0004"), about, path, body]);
    const tail = Buffer.alloc(14);
    tail.writeUInt32LE(offset, 10);
    list.push(Buffer.concat([Buffer.from("PK\u0001\u0002"), Buffer.from([20, 0]), about, tail, path]));
    bodies.push(local);
    offset += local.length;
  }
  const directory = Buffer.concat(list);
  const end = Buffer.alloc(18);
  end.writeUInt16LE(files.length, 4);
  end.writeUInt16LE(files.length, 6);
  end.writeUInt32LE(directory.length, 8);
  end.writeUInt32LE(offset, 12);
  return Buffer.concat([...bodies, directory, Buffer.from("PK\u0005\u0006"), end]);
}
