//! Form and text as two views of one file.

use serde_json::{Value, json};

use crate::asking::{BRINE, Server};

#[tokio::test]
async fn the_keys_are_those_of_the_case_file() {
    let server = Server::new();
    let keys = server.get("/api/keys").await.is(200).json();
    let find = |keys: &Value, name: &str| keys.as_array().expect("keys").iter().find(|key| key["name"] == name).cloned().expect(name);
    let pressure = find(&find(&keys, "duty")["keys"], "pressure");
    assert_eq!(
        (&pressure["path"], &pressure["kind"], &pressure["required"]),
        (&json!("duty.*.pressure"), &json!("quantity"), &json!(true))
    );
    let side = find(&find(&keys, "seal")["keys"], "pressure_side");
    assert_eq!(side["choices"], json!(["outside", "inside"]));
    let section = find(&find(&keys, "rotating_ring")["keys"], "section");
    assert_eq!(section["kind"], "list");
}

#[tokio::test]
async fn a_text_is_read_as_values_and_errors_in_their_places() {
    let server = Server::new();
    let read = server.post("/api/read", &json!({ "text": BRINE })).await.is(200).json();
    assert_eq!(read["errors"], json!([]));
    assert_eq!(read["values"]["duty.normal.pressure"], "11 bar(g)");
    assert_eq!(read["duties"].as_array().map(Vec::len), Some(6));
    let wrong = BRINE.replacen("11 bar(g)", "1100 bar(g)", 1);
    let read = server.post("/api/read", &json!({ "text": wrong })).await.is(200).json();
    let error = &read["errors"][0];
    let at = wrong.find("\"1100 bar").expect("it is there");
    assert_eq!(error["path"], "duty.normal.pressure");
    assert_eq!(error["line"], wrong[..at].matches('\n').count() + 1);
    assert_eq!(error["from"], at);
    assert!(error["range"].as_str().is_some_and(|range| range.contains("50 MPa(a)")), "{error}");
    assert_eq!(read["values"]["duty.normal.pressure"], "1100 bar(g)", "the form still shows it");
}

#[tokio::test]
async fn broken_texts_are_told_with_line_and_column() {
    let server = Server::new();
    let syntax = "halfmicron = 1\ntitle = \"a\n";
    let read = server.post("/api/read", &json!({ "text": syntax })).await.is(200).json();
    assert_eq!((&read["errors"][0]["code"], &read["errors"][0]["line"]), (&json!("case.syntax"), &json!(2)));
    assert!(read["errors"][0]["column"].as_u64() > Some(8), "{read}");
    let deep = format!("a = {}", "[".repeat(20_000));
    let huge = "halfmicron = 1e999999\n[[duty]]\nhours_per_year = 99999999999999999999999\n";
    for text in [
        "",
        "\u{0}",
        "a\u{7f}=\u{1}",
        "\u{feff}halfmicron = 1",
        &deep,
        huge,
        "halfmicron = 1\nhalfmicron = 1",
        "[[duty]]\n[duty]",
        "=",
        "duty = 3",
    ] {
        let read = server.post("/api/read", &json!({ "text": text })).await.is(200).json();
        assert!(!read["errors"].as_array().expect("errors").is_empty(), "{text:.40}");
        let solved = server.post("/api/solve", &json!({ "text": text })).await.is(422).json();
        assert_eq!(solved["error"]["code"], "case.errors");
        assert_eq!(solved["case_errors"].as_array().map(Vec::len), read["errors"].as_array().map(Vec::len), "{text:.40}");
    }
}

#[tokio::test]
async fn edits_keep_comments_and_are_all_or_none() {
    let server = Server::new();
    let edit = async |edits: Value| server.post("/api/edit", &json!({ "text": BRINE, "edits": edits })).await;
    let edited = edit(json!([{ "path": "duty.normal.pressure", "value": "14 bar(g)" }])).await.is(200).json();
    assert_eq!(edited["text"], BRINE.replacen("11 bar(g)", "14 bar(g)", 1));
    assert_eq!(edited["errors"], json!([]));
    let copied =
        edit(json!([{ "path": "duty", "copy": "normal", "value": "hot" }, { "path": "duty.hot.temperature", "value": "60 degC" }]))
            .await
            .is(200)
            .json();
    assert!(copied["duties"].as_array().is_some_and(|duties| duties.contains(&json!("hot"))), "{}", copied["duties"]);
    let comments = |text: &Value| text.as_str().expect("a text").matches('#').count();
    let removed = edit(json!([{ "path": "duty.normal.temperature", "value": null }])).await.is(200).json();
    assert_eq!(comments(&removed["text"]), comments(&json!(BRINE)));
    assert_eq!(removed["errors"][0]["path"], "duty.normal.temperature", "{}", removed["errors"]);
    let refused =
        edit(json!([{ "path": "duty.normal.pressure", "value": "1 bar(g)" }, { "path": "duty.noon.pressure", "value": "1 bar(g)" }]))
            .await
            .is(422);
    assert_eq!(refused.json()["case_errors"][0]["path"], "duty.noon.pressure");
    edit(json!([{ "path": "duty", "copy": "normal" }])).await.is(422);
    edit(json!([["duty.normal.pressure", "1 bar(g)", null]])).await.is(400);
}
