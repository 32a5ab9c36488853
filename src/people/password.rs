//! Hashing passwords and PINs: argon2id, off the threads that serve pages.

use argon2::password_hash::PasswordHasher;
use argon2::{Algorithm, Argon2, Params, PasswordHash, PasswordVerifier, Version};

use crate::error::{Refusal, Result};
use crate::web::Hashing;

/// The shortest password. NIST SP 800-63B asks for at least 8 characters where a person chooses one.
pub const LEAST: usize = 10;
/// The longest, so that hashing cannot be made to take for ever.
pub const MOST: usize = 200;

/// Whether a password may be chosen; the refusal stands at `field`.
pub fn choose(field: &'static str, password: &str) -> Result<(), Refusal> {
    let length = password.chars().count();
    if length < LEAST {
        let say = format!("Use at least {LEAST} characters. A few plain words do.");
        return Err(Refusal::at(field, say));
    }
    if length > MOST {
        return Err(Refusal::at(field, "This is longer than a password may be."));
    }
    Ok(())
}

fn argon(hashing: Hashing) -> Result<Argon2<'static>> {
    let params = match hashing {
        Hashing::Strong => Params::new(19 * 1024, 2, 1, None),
        Hashing::ForTests => Params::new(Params::MIN_M_COST, Params::MIN_T_COST, Params::MIN_P_COST, None),
    };
    let params = params.map_err(|why| anyhow::anyhow!("argon2 parameters: {why}"))?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

/// A salted hash of a secret, in the PHC string format.
pub async fn hash(hashing: Hashing, secret: String) -> Result<String> {
    let argon = argon(hashing)?;
    tokio::task::spawn_blocking(move || {
        let hash = argon.hash_password(secret.as_bytes()).map_err(|why| anyhow::anyhow!("argon2: {why}"))?;
        Ok(hash.to_string())
    })
    .await
    .map_err(anyhow::Error::from)?
}

/// Whether a secret is the one that was hashed. Without a hash it works as long and says no, so that nobody learns by
/// the clock whether a name is known.
pub async fn fits(hashing: Hashing, secret: String, hash: Option<String>) -> Result<bool> {
    if secret.len() > MOST * 4 {
        return Ok(false);
    }
    let Some(known) = hash else {
        self::hash(hashing, secret).await?;
        return Ok(false);
    };
    let argon = argon(hashing)?;
    let checked = tokio::task::spawn_blocking(move || {
        PasswordHash::new(&known)
            .is_ok_and(|parsed| argon.verify_password(secret.as_bytes(), &parsed).is_ok())
    });
    Ok(checked.await.map_err(anyhow::Error::from)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_password_is_long_enough_and_not_endless() {
        assert!(choose("password", "salt and time").is_ok());
        assert!(choose("password", "salt").is_err());
        assert!(choose("password", &"salt".repeat(60)).is_err());
    }

    #[tokio::test]
    async fn the_right_password_fits_and_no_other() {
        let kept = hash(Hashing::ForTests, "salt and time".into()).await.expect("hashed");
        assert!(kept.starts_with("$argon2id$"));
        assert!(fits(Hashing::ForTests, "salt and time".into(), Some(kept.clone())).await.expect("checked"));
        assert!(!fits(Hashing::ForTests, "salt and thyme".into(), Some(kept)).await.expect("checked"));
        assert!(!fits(Hashing::ForTests, "salt and time".into(), None).await.expect("checked"));
    }
}
