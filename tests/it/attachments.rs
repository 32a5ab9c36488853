//! Papers attached to what they speak of, through the router and a real database.

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use sha2::{Digest, Sha256};

use crate::shop::{Cast, Page, Shop, goes_to};

const EDGE: &str = "edge-of-a-part";
const PDF: &[u8] = b"%PDF-1.4\n% a letter\n";

/// A part of a form: its name, the name of its file where it is one, its bytes.
type Part<'a> = (&'a str, Option<&'a str>, &'a [u8]);

fn parts(all: &[Part<'_>]) -> Vec<u8> {
    let mut body = Vec::new();
    for (name, file, bytes) in all {
        let file = file.map(|file| format!("; filename=\"{file}\"")).unwrap_or_default();
        let head = format!("--{EDGE}\r\ncontent-disposition: form-data; name=\"{name}\"{file}\r\n\r\n");
        body.extend_from_slice(head.as_bytes());
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n");
    }
    body.extend_from_slice(format!("--{EDGE}--\r\n").as_bytes());
    body
}

fn request() -> axum::http::request::Builder {
    Request::post("/attachments")
        .header(header::CONTENT_TYPE, format!("multipart/form-data; boundary={EDGE}"))
}

async fn attach_as(shop: &Shop, cast: Cast, id: &str, about: &str, sort: &str, file: (&str, &[u8])) -> Page {
    let all: [Part<'_>; 5] = [
        ("id", None, id.as_bytes()),
        ("about", None, about.as_bytes()),
        ("sort", None, sort.as_bytes()),
        ("note", None, b"Valid until March 2027"),
        ("file", Some(file.0), file.1),
    ];
    shop.send(cast, request().header("sec-fetch-site", "same-origin"), Body::from(parts(&all))).await
}

fn fresh() -> String {
    flitchbook::web::fresh_id().to_string()
}

/// A shop with a supplier, and what an address calls it.
async fn with_supplier() -> (Shop, String) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let supplier = things.farm.id.to_string();
    (shop, format!("supplier/{supplier}"))
}

/// The address of the only paper.
async fn only_paper(shop: &Shop, about: &str) -> String {
    let page = shop.get(Cast::Inspector, &format!("/attachments?about={about}")).await;
    assert_eq!(page.all("table.table tbody tr").len(), 1, "{}", page.text);
    page.attribute("table.table tbody th a", "href").unwrap()
}

#[tokio::test]
async fn a_letter_stands_on_its_suppliers_page_and_is_handed_out_as_it_came() {
    let (shop, about) = with_supplier().await;
    let path = format!("/receiving/suppliers/{}", about.trim_start_matches("supplier/"));
    let page = shop.get(Cast::Owner, &path).await;
    let attach = page.attribute(&format!("a[href='/attachments?about={about}']"), "href").unwrap();
    assert_eq!(shop.get(Cast::Owner, &attach).await.status, StatusCode::OK);
    let file = ("../letter of \u{fc}ber.exe", PDF);
    let answer = attach_as(&shop, Cast::Curer, &fresh(), &about, "letter of guarantee", file).await;
    assert_eq!(goes_to(&answer), format!("/attachments?about={about}"));

    let page = shop.get(Cast::Inspector, &path).await;
    let row = page.all("table.table tbody tr").pop().unwrap();
    assert!(row.contains("letter of über.pdf") && row.contains("Valid until March 2027"), "{row}");
    let paper = only_paper(&shop, &about).await;
    let page = shop.get(Cast::Inspector, &paper).await;
    let sealed: flitchbook::book::chain::Hash = Sha256::digest(PDF).into();
    assert_eq!(page.one("code.hash"), flitchbook::book::chain::hex(&sealed));
    let file = shop.get(Cast::Inspector, &format!("{paper}/file")).await;
    assert_eq!((file.status, file.text.as_bytes()), (StatusCode::OK, PDF));
    let said = |name: &str| file.headers.get(name).unwrap().to_str().unwrap().to_owned();
    assert_eq!(said("content-type"), "application/pdf");
    assert_eq!(said("x-content-type-options"), "nosniff");
    assert_eq!(said("content-security-policy"), "default-src 'none'; sandbox");
    assert!(said("content-disposition").starts_with("attachment; filename=\"letter of _ber.pdf\""));
    assert!(said("cache-control").contains("no-store"));
    let stranger = shop.get(Cast::Stranger, &format!("{paper}/file")).await;
    assert_eq!(stranger.status, StatusCode::SEE_OTHER);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn what_is_no_paper_by_its_content_is_refused_and_what_was_typed_stays() {
    let (shop, about) = with_supplier().await;
    let lines = shop.lines().await;
    for (name, bytes, word) in [
        (
            "picture.png",
            &b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"[..],
            "markup",
        ),
        ("letter.pdf", b"<!doctype html><script>alert(1)</script>", "markup"),
        ("letter.pdf", b"MZ\x90\0\x03", "no PDF"),
        ("letter.pdf", b"", "nothing in this file"),
    ] {
        let page = attach_as(&shop, Cast::Curer, &fresh(), &about, "certificate", (name, bytes)).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(page.error_at("file").contains(word), "{word}: {}", page.text);
        assert_eq!(page.attribute("#f-note", "value").as_deref(), Some("Valid until March 2027"));
        assert_eq!(page.attribute("#f-sort option[selected]", "value").as_deref(), Some("certificate"));
    }
    let page = attach_as(&shop, Cast::Curer, &fresh(), &about, "", ("letter.pdf", PDF)).await;
    assert!(page.error_at("sort").contains("Choose"), "{}", page.text);
    let heavy = vec![b'a'; 10 * 1024 * 1024 + 1];
    let page = attach_as(&shop, Cast::Curer, &fresh(), &about, "certificate", ("a.txt", &heavy)).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("file").contains("10 MB"), "{}", page.text);
    assert_eq!(page.attribute("#f-note", "value").as_deref(), Some("Valid until March 2027"));
    assert_eq!(shop.lines().await, lines);
    let at_most = vec![b'a'; 10 * 1024 * 1024];
    goes_to(&attach_as(&shop, Cast::Curer, &fresh(), &about, "certificate", ("a.txt", &at_most)).await);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_same_form_twice_is_one_paper_and_with_other_bytes_it_is_refused() {
    let (shop, about) = with_supplier().await;
    let id = fresh();
    for _ in 0..2 {
        goes_to(&attach_as(&shop, Cast::Curer, &id, &about, "certificate", ("a.pdf", PDF)).await);
    }
    only_paper(&shop, &about).await;
    let page = attach_as(&shop, Cast::Curer, &id, &about, "certificate", ("a.pdf", b"%PDF-1.4\nother")).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.one(".errors").contains("signed before with something else"), "{}", page.text);
    let page = attach_as(&shop, Cast::Curer, "", &about, "certificate", ("a.pdf", PDF)).await;
    assert!(page.one(".errors").contains("without its number"), "{}", page.text);
    only_paper(&shop, &about).await;
}

#[tokio::test]
async fn only_who_may_check_attaches_and_only_from_a_page_of_ours_and_to_what_there_is() {
    let (shop, about) = with_supplier().await;
    let id = fresh();
    let inspector = attach_as(&shop, Cast::Inspector, &id, &about, "certificate", ("a.pdf", PDF)).await;
    assert_eq!(inspector.status, StatusCode::FORBIDDEN);
    assert!(
        shop.get(Cast::Inspector, &format!("/attachments?about={about}")).await.all("form.sheet").is_empty()
    );
    let stranger = attach_as(&shop, Cast::Stranger, &id, &about, "certificate", ("a.pdf", PDF)).await;
    assert_eq!(stranger.status, StatusCode::UNAUTHORIZED);
    let elsewhere = request().header("sec-fetch-site", "cross-site");
    let body = parts(&[("id", None, id.as_bytes()), ("about", None, about.as_bytes())]);
    assert_eq!(shop.send(Cast::Curer, elsewhere, Body::from(body)).await.status, StatusCode::FORBIDDEN);
    for nothing in ["", "supplier", "supplier/12", "carcass/1", &format!("lot/{id}"), "line/99999"] {
        let page = attach_as(&shop, Cast::Curer, &id, nothing, "certificate", ("a.pdf", PDF)).await;
        assert_eq!(page.status, StatusCode::NOT_FOUND, "{nothing}");
    }
    for nothing in ["/attachments?about=lot/1", "/attachments/nothing", &format!("/attachments/{id}/file")] {
        assert_eq!(shop.get(Cast::Curer, nothing).await.status, StatusCode::NOT_FOUND, "{nothing}");
    }
}

#[tokio::test]
async fn a_struck_paper_is_shown_as_struck_and_its_bytes_stay() {
    let (shop, about) = with_supplier().await;
    goes_to(&attach_as(&shop, Cast::Curer, &fresh(), &about, "certificate", ("a.pdf", PDF)).await);
    let paper = only_paper(&shop, &about).await;
    let strike = shop.get(Cast::Curer, &paper).await.attribute("a.strike", "href").unwrap();
    goes_to(&shop.post(Cast::Curer, &strike, &[("reason", "Of another farm.")]).await);
    let page = shop.get(Cast::Inspector, &format!("/attachments?about={about}")).await;
    assert!(page.one("table.table s").contains("a.pdf"), "{}", page.text);
    assert_eq!(shop.get(Cast::Inspector, &format!("{paper}/file")).await.text.as_bytes(), PDF);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_bytes_cannot_be_changed_and_verify_names_the_line_whose_bytes_are_others() {
    let (shop, about) = with_supplier().await;
    goes_to(&attach_as(&shop, Cast::Curer, &fresh(), &about, "certificate", ("a.pdf", PDF)).await);
    let line = shop.lines().await;
    let pool = shop.app.book.pool.clone();
    for sql in [
        "UPDATE paper_body SET body = 'x'",
        "DELETE FROM paper_body",
        "TRUNCATE paper_body",
        "INSERT INTO paper_body SELECT gen_random_uuid(), 'x'",
    ] {
        assert!(sqlx::raw_sql(sql).execute(&pool).await.is_err(), "{sql}");
    }
    // As somebody with the whole machine could, who turns the guards off.
    let forged = "SET session_replication_role = replica; UPDATE paper_body SET body = '%PDF-forged'; \
                  SET session_replication_role = DEFAULT";
    let mut conn = pool.acquire().await.unwrap();
    sqlx::raw_sql(forged).execute(&mut *conn).await.unwrap();
    let findings = shop.verify().await.findings;
    assert_eq!(findings.len(), 1, "{findings:?}");
    assert_eq!(findings[0].seq.map(|seq| seq.0), Some(line));
    assert!(findings[0].what.contains("a.pdf are not those that were signed"), "{findings:?}");
    let gone = "SET session_replication_role = replica; DELETE FROM paper_body; SET session_replication_role = DEFAULT";
    sqlx::raw_sql(gone).execute(&mut *conn).await.unwrap();
    assert!(shop.verify().await.findings[0].what.contains("are gone"));
}

#[tokio::test]
async fn a_reading_a_lot_and_a_batch_carry_their_papers() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    shop.water_activity(&[made.pieces[0].lot], "0.88").await;
    let line = shop.lines().await;
    let pages = [
        (format!("line/{line}"), format!("/entries/{line}")),
        (format!("lot/{}", made.pieces[0].lot), made.pieces[0].lot.path()),
        (format!("batch/{}", made.batch), made.batch.path()),
    ];
    for (n, (about, path)) in pages.iter().enumerate() {
        let name = format!("result {n}.csv");
        let table: &[u8] = b"sample,aw\n1,0.880\n";
        let sort = "laboratory result";
        goes_to(&attach_as(&shop, Cast::Reviewer, &fresh(), about, sort, (&name, table)).await);
        let page = shop.get(Cast::Inspector, path).await;
        assert!(page.one("main").contains(&name), "{about}: {}", page.text);
    }
    assert_eq!(shop.get(Cast::Inspector, "/attachments").await.all("table.table tbody tr").len(), 3);
    assert_eq!(shop.verify().await.findings, []);
}
