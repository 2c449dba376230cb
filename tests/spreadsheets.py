"""Spreadsheets as other programs write them, made here from rows of cells."""

import io
import zipfile
from xml.sax.saxutils import escape


def _archive(parts):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
    return stream.getvalue()


def xlsx(rows):
    """Bytes of an Office Open XML workbook (ECMA-376) with one sheet."""
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    kinds = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    part = "application/vnd.openxmlformats-officedocument.spreadsheetml."
    cells = "".join(f"<row>{''.join(_xlsx_cell(cell) for cell in row)}</row>" for row in rows)
    return _archive(
        {
            "[Content_Types].xml": f'<Types xmlns="{package}/content-types">'
            '<Default Extension="rels" '
            'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            f'<Override PartName="/xl/workbook.xml" ContentType="{part}sheet.main+xml"/>'
            f'<Override PartName="/xl/sheet.xml" ContentType="{part}worksheet+xml"/></Types>',
            "_rels/.rels": f'<Relationships xmlns="{package}/relationships"><Relationship Id="a" '
            f'Type="{kinds}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
            "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{kinds}"><sheets>'
            '<sheet name="A" sheetId="1" r:id="b"/></sheets></workbook>',
            "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{package}/relationships">'
            f'<Relationship Id="b" Type="{kinds}/worksheet" Target="sheet.xml"/></Relationships>',
            "xl/sheet.xml": f'<worksheet xmlns="{main}"><sheetData>{cells}</sheetData></worksheet>',
        }
    )


def _xlsx_cell(cell):
    if isinstance(cell, str):
        return f'<c t="inlineStr"><is><t>{escape(cell)}</t></is></c>'
    return f"<c><v>{cell!r}</v></c>"


def ods(rows):
    """Bytes of an OpenDocument spreadsheet (ISO/IEC 26300) with one table."""
    name = "urn:oasis:names:tc:opendocument:xmlns"
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    cells = "".join(
        f"<table:table-row>{''.join(_ods_cell(cell) for cell in row)}</table:table-row>"
        for row in rows
    )
    return _archive(
        {
            "mimetype": kind,
            "content.xml": f'<office:document-content xmlns:office="{name}:office:1.0" '
            f'xmlns:table="{name}:table:1.0" xmlns:text="{name}:text:1.0"><office:body>'
            f'<office:spreadsheet><table:table table:name="A">{cells}</table:table>'
            "</office:spreadsheet></office:body></office:document-content>",
            "META-INF/manifest.xml": f'<manifest:manifest xmlns:manifest="{name}:manifest:1.0">'
            f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
            "</manifest:manifest>",
        }
    )


def _ods_cell(cell):
    if isinstance(cell, str):
        kind = 'office:value-type="string"'
    else:
        kind = f'office:value-type="float" office:value="{cell!r}"'
    return f"<table:table-cell {kind}><text:p>{escape(str(cell))}</text:p></table:table-cell>"
