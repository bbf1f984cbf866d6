from evidence.normal import nfc_fields


def test_names_and_texts_are_in_nfc_however_deep():
    apart, whole = "e\u0301", "\u00e9"
    assert nfc_fields({apart: [apart, {"a": apart}, 1, None, True]}) == {
        whole: [whole, {"a": whole}, 1, None, True]
    }
