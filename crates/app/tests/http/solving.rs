//! Sheets, reasons, drawings and pictures.

use serde_json::{Value, json};

use crate::asking::{BRINE, Server};

#[tokio::test]
async fn a_duty_is_solved_as_the_command_solves_it() {
    let server = Server::new();
    let solved = server.post("/api/solve", &json!({ "text": BRINE, "duties": ["normal"], "outcome": true })).await.is(200).json();
    assert_eq!(solved["tag"], blake3::hash(BRINE.as_bytes()).to_hex().as_str());
    assert_eq!((&solved["complete"], &solved["left_out"]), (&json!(true), &json!([])));
    let model = halfmicron::case::parse(BRINE).expect("a case").model().expect("a model");
    let outcome = halfmicron::solve(&model, &["normal".to_owned()]).expect("solved");
    let sheet = halfmicron::sheet::sheet(&model, &outcome, halfmicron::sheet::UnitSet::Si);
    let through_text = |text: String| serde_json::from_str::<Value>(&text).expect("JSON");
    assert_eq!(solved["sheet"], through_text(serde_json::to_string(&sheet).expect("JSON")));
    let point = &solved["outcome"]["duties"][0]["equilibria"][0];
    assert_eq!(*point, through_text(serde_json::to_string(&outcome.duties[0].equilibria[0]).expect("JSON")));
}

#[tokio::test]
async fn a_quick_answer_says_what_it_left_out_and_gives_no_verdict() {
    let server = Server::new();
    let ask = async |depth: &str, pressure: &str| {
        let body =
            json!({ "text": BRINE, "duties": ["normal"], "depth": depth, "outcome": true, "set": { "duty.normal.pressure": pressure } });
        server.post("/api/solve", &body).await.is(200).json()
    };
    let first = ask("quick", "11 bar(g)").await;
    assert_eq!(first["complete"], true, "there was nothing to follow");
    let quick = ask("quick", "11.5 bar(g)").await;
    assert_eq!(quick["complete"], false);
    assert!(quick["left_out"].as_array().is_some_and(|left| left.contains(&json!("verdicts"))), "{}", quick["left_out"]);
    assert_eq!((&quick["sheet"]["verdicts"], &quick["sheet"]["columns"][0]["worst"]), (&json!([]), &Value::Null));
    assert!(!quick["sheet"]["cautions"].as_array().expect("cautions").is_empty());
    let complete = ask("complete", "11.5 bar(g)").await;
    assert!(!complete["sheet"]["verdicts"].as_array().expect("verdicts").is_empty());
    let film = |solved: &Value| solved["outcome"]["duties"][0]["equilibria"][0]["minimum_film_m"]["nominal"].as_f64().expect("a number");
    let [quick, complete] = [film(&quick), film(&complete)];
    assert!((quick - complete).abs() < 1e-6 * complete, "{quick} {complete}");
}

#[tokio::test]
async fn a_held_case_tells_what_changed_and_stands_behind_the_curves() {
    let server = Server::new();
    let pictures = json!({ "duty": "normal", "temperature": true, "deformed": "auto", "width": 500, "height": 400 });
    let body = json!({
        "text": BRINE, "duties": ["normal"], "set": { "duty.normal.pressure": "14 bar(g)" }, "held": { "text": BRINE }, "pictures": pictures
    });
    let solved = server.post("/api/solve", &body).await.is(200).json();
    assert!(solved["changes"]["minimum_film_m"][0].as_str().is_some_and(|change| change.starts_with(['+', '-'])), "{}", solved["changes"]);
    let drawn = &solved["pictures"];
    assert_eq!(drawn["duty"], "normal");
    assert!(drawn["view"]["svg"].as_str().is_some_and(|svg| svg.starts_with("<svg")), "{drawn}");
    assert!(drawn["view"]["radius"]["high_mm"].as_f64() > drawn["view"]["radius"]["low_mm"].as_f64());
    for key in ["profile.gap", "profile.pressure", "profile.temperature", "heat.split"] {
        assert!(drawn["charts"][key].as_str().is_some_and(|svg| svg.starts_with("<svg")), "{key}");
    }
    let other = json!({ "text": BRINE, "duties": ["normal"], "held": { "text": BRINE.replace("\"normal\"", "\"usual\"") } });
    let solved = server.post("/api/solve", &other).await.is(200).json();
    assert_eq!(solved["changes"], json!({}), "a held case without this duty changes nothing");
}

#[tokio::test]
async fn wrong_duties_paths_and_sizes_are_refused() {
    let server = Server::new();
    let ask = async |more: Value| {
        let mut body = json!({ "text": BRINE, "duties": ["normal"] });
        body.as_object_mut().expect("an object").extend(more.as_object().expect("an object").clone());
        server.post("/api/solve", &body).await
    };
    let unknown = ask(json!({ "duties": ["noon"] })).await.is(422);
    assert_eq!(unknown.code(), "case.no-duty");
    assert!(unknown.text().contains("suction lost"), "{}", unknown.text());
    let path = ask(json!({ "set": { "duty.normal.pressures": "1 bar(g)" } })).await.is(422).json();
    assert!(path["case_errors"][0]["hint"].as_str().is_some_and(|hint| hint.contains("pressure")), "{path}");
    ask(json!({ "units": "feet" })).await.is(400);
    ask(json!({ "depth": "deep" })).await.is(400);
    for wrong in [
        json!({ "width": 1 }),
        json!({ "width": 1.5 }),
        json!({ "height": 100_000 }),
        json!({ "deformed": 0 }),
        json!({ "deformed": "much" }),
        json!([]),
    ] {
        ask(json!({ "pictures": wrong })).await.is(400);
    }
}

#[tokio::test]
async fn a_row_and_a_rule_have_their_reasons() {
    let server = Server::new();
    let ask =
        async |key: &str, duty: &str| server.post("/api/why", &json!({ "text": BRINE, "duty": duty, "key": key, "units": "us" })).await;
    let why = ask("minimum_film_m", "normal").await.is(200).json();
    assert_eq!((&why["key"], &why["unit"]), (&json!("minimum_film_m"), &json!("uin")));
    assert!(!why["models"].as_array().expect("models").is_empty());
    assert_eq!(ask("no_such_row", "normal").await.is(404).code(), "why.none");
    assert_eq!(ask("minimum_film_m", "noon").await.is(422).code(), "case.no-duty");
}

#[tokio::test]
async fn drawings_are_files() {
    let server = Server::new();
    let ask = async |body: Value| server.post("/api/draw", &body).await;
    let svg = ask(json!({ "text": BRINE, "kind": "svg" })).await.is(200);
    assert_eq!(svg.header("content-type"), "image/svg+xml");
    assert_eq!(svg.header("content-disposition"), "attachment; filename=\"brine-booster-pump-drive-end.svg\"");
    assert!(svg.text().contains("<svg"));
    let dxf = ask(json!({ "text": BRINE, "kind": "dxf", "duty": "normal", "temperature": true, "deformed": 2000 })).await.is(200);
    assert!(dxf.text().contains("SECTION"));
    assert_eq!(ask(json!({ "text": BRINE, "kind": "svg", "temperature": true })).await.is(422).code(), "draw.no-duty");
    assert_eq!(ask(json!({ "text": "halfmicron = 1", "kind": "svg" })).await.is(422).code(), "case.errors");
    ask(json!({ "text": BRINE, "kind": "png" })).await.is(400);
    let face = ask(json!({ "text": BRINE, "kind": "svg", "view": "face" })).await.is(200);
    assert!(face.text().contains("face of the rotating ring along the shaft"));
    let hot = json!({ "text": BRINE, "kind": "dxf", "view": "face", "duty": "normal" });
    assert_eq!(ask(hot).await.is(422).code(), "draw.of-section");
    ask(json!({ "text": BRINE, "kind": "svg", "view": "back" })).await.is(400);
}

#[tokio::test]
async fn reports_are_files_that_are_the_same_every_time() {
    let server = Server::new();
    let title = json!({ "project": "Saltmere P-101", "revision": "B", "author": "A. Turner" });
    let ask = async |more: Value| {
        let mut body = json!({ "text": BRINE, "kind": "html", "duties": ["normal"], "file": "booster.toml", "title_block": title });
        body.as_object_mut().expect("an object").extend(more.as_object().expect("an object").clone());
        server.post("/api/report", &body).await
    };
    let html = ask(json!({})).await.is(200);
    assert_eq!(html.header("content-type"), "text/html; charset=utf-8");
    assert!(html.header("content-disposition").ends_with(".html\""), "{:?}", html.headers);
    for said in ["Saltmere P-101", "A. Turner", "halfmicron report booster.toml -o booster.html"] {
        assert!(html.text().contains(said), "{said}");
    }
    assert_eq!(ask(json!({})).await.is(200).bytes, html.bytes);
    let pdf = ask(json!({ "kind": "pdf", "paper": "letter", "units": "us" })).await.is(200);
    assert_eq!((pdf.header("content-type"), &pdf.bytes[..5]), ("application/pdf", &b"%PDF-"[..]));
    assert_eq!(ask(json!({ "duties": ["noon"] })).await.is(422).code(), "case.no-duty");
    assert_eq!(ask(json!({ "kind": "pdf", "title_block": { "author": "\u{6c34}" } })).await.is(422).code(), "report.letters");
    assert_eq!(ask(json!({ "title_block": { "author": "a\nb" } })).await.is(422).code(), "report.field");
    ask(json!({ "title_block": ["a", "b", "c"] })).await.is(400);
    ask(json!({ "paper": "a3" })).await.is(400);
}
