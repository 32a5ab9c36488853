"""What a PDF holds, read by pypdf: the text of its pages, its structure, its fonts."""

from pypdf import PdfReader

from frame import told


def walk(node, counts):
    """Counts the structure elements of each kind."""
    node = node.get_object()
    if isinstance(node, list):
        for child in node:
            walk(child, counts)
    elif hasattr(node, "get"):
        if "/S" in node:
            counts[node["/S"]] = counts.get(node["/S"], 0) + 1
        if "/K" in node:
            walk(node["/K"], counts)


def embedded(reader):
    """Whether every font of every page is in the file."""
    for page in reader.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            for own in font.get_object().get("/DescendantFonts", [font]):
                described = own.get_object()["/FontDescriptor"].get_object()
                if not any(key in described for key in ("/FontFile2", "/FontFile3")):
                    return False
    return True


def reckon(case):
    reader = PdfReader(case["pdf"])
    root = reader.trailer["/Root"]
    counts = {}
    walk(root["/StructTreeRoot"], counts)
    return {
        "pages": [page.extract_text() for page in reader.pages],
        "title": reader.metadata.title,
        "language": root["/Lang"],
        "tagged": bool(root["/MarkInfo"]["/Marked"]),
        "structure": counts,
        "fonts embedded": embedded(reader),
        "outline": [entry.title for entry in reader.outline],
    }


told(reckon)
