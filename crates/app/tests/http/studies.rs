//! Studies: begun, watched, stopped, forgotten.

use axum::body::Body;
use axum::http::Method;
use serde_json::{Value, json};

use crate::asking::{BRINE, Server, request};

fn sweep(count: u32) -> Value {
    json!({ "kind": "sweep", "text": BRINE, "duty": "normal", "path": "duty.normal.temperature", "from": "30 degC", "to": "40 degC", "count": count })
}

/// The stream of a study to its end.
async fn events(server: &Server, id: &str) -> Vec<Value> {
    let answer = server.get(&format!("/api/studies/{id}/events")).await.is(200);
    assert_eq!(answer.header("content-type"), "text/event-stream");
    let text = answer.text();
    assert!(text.starts_with("event: progress\n"), "{text}");
    text.lines().filter_map(|line| line.strip_prefix("data: ")).map(|data| serde_json::from_str(data).expect("JSON")).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sweep_runs_to_its_result() {
    let server = Server::new();
    let begun = server.post("/api/studies", &sweep(5)).await.is(202).json();
    let id = begun["id"].as_str().expect("an id");
    let told = events(&server, id).await;
    assert_eq!(told.last().expect("an end")["state"], "done", "{told:?}");
    let study = server.get(&format!("/api/studies/{id}")).await.is(200).json();
    assert_eq!(study["progress"], json!({ "state": "done", "done": 5, "total": 5, "message": "" }));
    assert_eq!(study["result"]["kind"], "sweep");
    let values = study["result"]["value"]["rows"].as_array().expect("rows").iter().filter(|row| row["fold"].is_null()).count();
    assert_eq!(values, 5);
}

#[tokio::test(flavor = "multi_thread")]
async fn influences_are_ranked() {
    let server = Server::new();
    let body = json!({ "kind": "influences", "text": BRINE, "duty": "normal", "keys": ["minimum_film_m"] });
    let begun = server.post("/api/studies", &body).await.is(202).json();
    let id = begun["id"].as_str().expect("an id");
    assert_eq!(events(&server, id).await.last().expect("an end")["state"], "done");
    let study = server.get(&format!("/api/studies/{id}")).await.is(200).json();
    assert_eq!((&study["result"]["kind"], &study["result"]["value"]["ranked_by"]), (&json!("influences"), &json!("minimum_film_m")));
    assert!(study["result"]["value"]["rows"].as_array().is_some_and(|rows| rows.len() > 10));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_study_is_stopped_and_stays_stopped() {
    let server = Server::new();
    let begun = server.post("/api/studies", &sweep(2000)).await.is(202).json();
    let id = begun["id"].as_str().expect("an id").to_owned();
    let path = format!("/api/studies/{id}");
    let (listening, stopping) = (events(&server, &id), async {
        tokio::time::sleep(std::time::Duration::from_millis(30)).await;
        server.send(request(Method::DELETE, &path, &[], Body::empty())).await.is(200).json()
    });
    let (told, stopped) = tokio::join!(listening, stopping);
    assert_eq!(stopped["progress"]["state"], "cancelled");
    assert_eq!(told.last().expect("an end")["state"], "cancelled");
    assert_eq!(server.get(&path).await.is(404).code(), "study.none");
    // The one worker is free again: the next study ends.
    let next = server.post("/api/studies", &sweep(2)).await.is(202).json();
    assert_eq!(events(&server, next["id"].as_str().expect("an id")).await.last().expect("an end")["state"], "done");
}

/// The booster with T grooves: it runs on a film of its own height, found in a few seconds.
fn grooved() -> String {
    let texture = "[[texture]]\non = \"stationary\"\nkind = \"T grooves\"\ncount = 6\ndepth = \"2 um\"\ninner = \"54 mm\"\n\
                   outer = \"61.6 mm\"\nstem_width_ratio = 0.2\nbar = \"1.2 mm\"\n";
    format!("{BRINE}\n{texture}")
}

async fn film(server: &Server, text: &str) -> (String, Value) {
    let begun = server.post("/api/studies", &json!({ "kind": "film", "text": text, "duty": "normal" })).await.is(202).json();
    let id = begun["id"].as_str().expect("an id").to_owned();
    assert_eq!(events(server, &id).await.last().expect("an end")["state"], "done");
    let study = server.get(&format!("/api/studies/{id}")).await.is(200).json();
    assert_eq!(study["result"]["kind"], "film");
    (id, study["result"]["value"].clone())
}

fn keys(list: &Value) -> Vec<&str> {
    list.as_array().expect("a list").iter().map(|one| one["key"].as_str().expect("a key")).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn the_film_of_grooved_faces_is_mapped_and_cut() {
    let server = Server::new();
    let (id, maps) = film(&server, &grooved()).await;
    assert_eq!((&maps["axisymmetric"], &maps["sectors"], &maps["on"]), (&json!(false), &json!(6), &json!("stationary")));
    assert_eq!(keys(&maps["maps"]), ["pressure", "gap", "cavitated"]);
    assert_eq!(maps["face"].as_array().map(Vec::len), Some(1));
    let columns = maps["angle_deg"].as_array().expect("angles").len() - 1;
    let circles = maps["radius"].as_array().expect("radii").len();
    for (map, rows) in maps["maps"].as_array().expect("maps").iter().zip([circles, circles - 1, circles]) {
        assert_eq!(map["values"].as_array().map(Vec::len), Some(rows * columns), "{}", map["key"]);
    }
    // The edges of the film stand under their pressures: 1 atmosphere inside, 11 bar more outside.
    let pressure = maps["maps"][0]["values"].as_array().expect("values");
    let at = |k: usize| pressure[k].as_f64().expect("a number");
    assert!((at(0) - 0.101_325).abs() < 1e-4 && (at(pressure.len() - 1) - 1.201_325).abs() < 1e-4, "{} {}", at(0), at(pressure.len() - 1));
    // What the sheet calls the least film is the least gap of the field.
    let solved = server.post("/api/solve", &json!({ "text": grooved(), "duties": ["normal"], "depth": "quick" })).await.is(200).json();
    let rows = solved["sheet"]["blocks"].as_array().expect("blocks").iter().flat_map(|block| block["rows"].as_array().expect("rows"));
    let film = rows.into_iter().find(|row| row["key"] == "minimum_film_m").expect("a least film")["cells"][0]["text"].clone();
    let least = maps["numbers"].as_array().expect("numbers").iter().find(|number| number["label"] == "least gap").expect("a least gap");
    assert_eq!(film.as_str().expect("text").split(" (").next(), least["value"].as_str());

    let path = format!("/api/studies/{id}/cut");
    let cut = server.get(&format!("{path}?radius=29&angle=33&width=400")).await.is(200).json();
    assert_eq!(keys(&cut["over_angle"]), ["film.pressure.over-angle", "film.gap.over-angle", "film.cavitated.over-angle"]);
    assert_eq!(cut["over_radius"].as_array().map(Vec::len), Some(3));
    assert!(cut["over_angle"][0]["svg"].as_str().is_some_and(|svg| svg.starts_with("<svg") && svg.contains("width=\"400\"")));
    assert!(cut["readings"][1]["value"].as_str().is_some_and(|value| value.parse::<f64>().is_ok_and(|gap| gap > 1.0)));
    assert_eq!(server.get(&format!("{path}?radius=40&angle=0")).await.is(422).code(), "film.off");
    assert_eq!(server.get(&format!("{path}?radius=NaN&angle=0")).await.is(422).code(), "film.off");
    server.get(&format!("{path}?radius=29")).await.is(400);
    server.get(&format!("{path}?radius=29&angle=0&width=1e9")).await.is(400);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_film_of_plain_faces_is_said_to_be_axisymmetric() {
    let server = Server::new();
    let (id, maps) = film(&server, BRINE).await;
    assert_eq!((&maps["axisymmetric"], &maps["sectors"], &maps["on"]), (&json!(true), &json!(1), &Value::Null));
    assert!(maps["notes"][0].as_str().is_some_and(|note| note.contains("axisymmetric")));
    let cut = server.get(&format!("/api/studies/{id}/cut?radius=28&angle=0")).await.is(200).json();
    assert_eq!((cut["over_angle"].as_array().map(Vec::len), cut["over_radius"].as_array().map(Vec::len)), (Some(0), Some(2)));
    let other = server.post("/api/studies", &sweep(2)).await.is(202).json();
    let id = other["id"].as_str().expect("an id");
    events(&server, id).await;
    assert_eq!(server.get(&format!("/api/studies/{id}/cut?radius=28&angle=0")).await.is(404).code(), "study.no-film");
    let unknown = json!({ "kind": "film", "text": BRINE, "duty": "noon" });
    assert_eq!(server.post("/api/studies", &unknown).await.is(422).code(), "case.no-duty");
}

#[tokio::test]
async fn a_whole_number_may_be_written_with_a_point() {
    let server = Server::new();
    let ask = async |count: Value| {
        let mut body = sweep(2);
        body["count"] = count;
        server.post("/api/studies", &body).await
    };
    ask(json!(2.0)).await.is(202);
    for wrong in [json!(2.5), json!(-2), json!(1e300), json!("2"), Value::Null] {
        ask(wrong).await.is(400);
    }
}

#[tokio::test]
async fn what_cannot_be_studied_is_told_at_once() {
    let server = Server::new();
    let ask = async |key: &str, value: Value| {
        let mut body = sweep(5);
        body[key] = value;
        server.post("/api/studies", &body).await
    };
    assert_eq!(ask("duty", json!("noon")).await.is(422).code(), "case.no-duty");
    assert_eq!(ask("count", json!(1)).await.is(422).code(), "study.count");
    assert_eq!(ask("to", json!("30 degC")).await.is(422).code(), "study.ends");
    assert_eq!(ask("to", json!("900 degC")).await.is(422).code(), "case.errors");
    assert_eq!(ask("path", json!("title")).await.is(422).code(), "study.path");
    ask("kind", json!("guess")).await.is(400);
    ask("more", json!(1)).await.is(400);
    let body = json!({ "kind": "influences", "text": BRINE, "duty": "normal", "keys": ["luck"] });
    assert_eq!(server.post("/api/studies", &body).await.is(422).code(), "study.key");
}

#[tokio::test]
async fn a_study_of_another_run_is_gone_with_a_word() {
    let server = Server::new();
    for (method, path) in
        [(Method::GET, "/api/studies/abc-1"), (Method::DELETE, "/api/studies/abc-1"), (Method::GET, "/api/studies/abc-1/events")]
    {
        let gone = server.send(request(method, path, &[], Body::empty())).await.is(404);
        assert_eq!(gone.code(), "study.none");
        assert!(gone.text().contains("started again"), "{}", gone.text());
    }
}

#[tokio::test]
async fn the_published_checks_are_told_before_they_are_rerun() {
    let server = Server::new();
    let proof = server.get("/api/proof").await.is(200).json();
    let checks = proof["checks"].as_array().expect("checks");
    assert_eq!((checks.len(), &proof["rerun"]), (halfmicron_checks::all().len(), &json!(false)));
    assert!(checks.iter().all(|check| check["quantities"] == json!([])));
}
