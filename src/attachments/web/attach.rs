//! POST `/attachments`: a paper comes in the parts of a form, with what it belongs to.

use axum::extract::multipart::MultipartError;
use axum::extract::{FromRequest as _, Multipart, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::super::entry::{About, Media, PaperAttached, file_name};
use super::super::{HEAVIEST, db};
use super::index::{PaperForm, ask, find};
use crate::book::chain::{Hash, hex};
use crate::error::{Error, Refusal, Result};
use crate::ids::PaperId;
use crate::rights::needs::Check;
use crate::web::{App, Me, Once, Reader, Signer, page};

/// The most that a typed field may weigh, in bytes.
const FIELD: usize = 8 * 1024;

/// Everything that came.
#[derive(Default)]
struct Sent {
    id: String,
    about: String,
    form: PaperForm,
    name: String,
    body: Vec<u8>,
}

impl Sent {
    /// What makes the form one entry however often it is sent: every part, each with its length.
    fn once(&self) -> Once {
        let mut digest = Sha256::new();
        let parts = [self.about.as_bytes(), self.form.sort.as_bytes(), self.form.note.as_bytes()];
        for part in parts.into_iter().chain([self.name.as_bytes(), self.body.as_slice()]) {
            digest.update(part.len().to_be_bytes());
            digest.update(part);
        }
        Once { id: Uuid::parse_str(&self.id).ok(), digest: digest.finalize().into() }
    }
}

/// POST `/attachments`
pub async fn attach(State(app): State<App>, me: Signer<Check>, request: Request) -> Result<Response> {
    let mut sent = Sent::default();
    let came = receive(&mut sent, request).await;
    let about = find(&app, &sent.about).await?;
    let done = match came {
        Ok(()) => sign(&app, &me, &about, &sent).await,
        Err(refusal) => Err(refusal.into()),
    };
    match done {
        Ok(()) => page::goto(&format!("/attachments?about={}", about.key())),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, &about, sent.form, errors).await
        }
        Err(other) => Err(other),
    }
}

/// Reads the parts in the order in which they come. The fields come before the file, so that they are kept where it is too
/// heavy.
async fn receive(sent: &mut Sent, request: Request) -> Result<(), Refusal> {
    let not_whole = |_: MultipartError| {
        Refusal::at("file", "It could not be taken: a paper may have 10 MB. Choose another file.")
    };
    let Ok(mut parts) = Multipart::from_request(request, &()).await else {
        return Err(Refusal::at("file", "It did not come whole. Choose the file again."));
    };
    while let Some(part) = parts.next_field().await.map_err(not_whole)? {
        let field = part.name().unwrap_or_default().to_owned();
        let name = part.file_name().map(ToOwned::to_owned);
        let bytes = part.bytes().await.map_err(not_whole)?;
        if field == "file" {
            sent.name = name.unwrap_or_default();
            sent.body = bytes.to_vec();
            continue;
        }
        let text = String::from_utf8_lossy(&bytes[..bytes.len().min(FIELD)]).into_owned();
        match field.as_str() {
            "id" => sent.id = text,
            "about" => sent.about = text,
            "sort" => sent.form.sort = text,
            "note" => sent.form.note = text,
            _ => {}
        }
    }
    Ok(())
}

async fn sign(app: &App, me: &Me, about: &About, sent: &Sent) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let sort = read.value("sort", &sent.form.sort, "Choose what sort of paper it is.");
    let note = read.note_or_empty("note", &sent.form.note);
    let media = media(&mut read, sent);
    let (sort, note, media) = read.finish(|| Some((sort?, note?, media?)))?;
    let once = sent.once();
    let paper = PaperId::made_by(once.id()?);
    let hash: Hash = Sha256::digest(&sent.body).into();
    let bytes = u32::try_from(sent.body.len()).map_err(anyhow::Error::from)?;
    let Some(mut pen) = app.book.pen(me.stamp(&once)?).await? else { return Ok(()) };
    let attached = PaperAttached {
        paper,
        about: about.clone(),
        sort,
        name: file_name(&sent.name, media),
        note,
        media,
        bytes,
        sha256: hex(&hash),
    };
    pen.append(attached).await?;
    db::lay(&mut pen, paper, &sent.body).await?;
    pen.commit().await
}

fn media(read: &mut Reader, sent: &Sent) -> Option<Media> {
    let found = if sent.body.is_empty() && sent.name.is_empty() {
        Err(Refusal::at("file", "Choose the file."))
    } else if sent.body.len() > HEAVIEST {
        Err(Refusal::at("file", "It is too heavy: a paper may have 10 MB."))
    } else {
        Media::of(&sent.body)
    };
    match found {
        Ok(media) => Some(media),
        Err(refusal) => {
            read.refuse("file", refusal.message);
            None
        }
    }
}
