//! The hashing of passwords against RFC 9106, section 5, and the reference implementation's known answers.
//!
//! Source: `data/argon2/SOURCE.md`.

use argon2::{Algorithm, Argon2, AssociatedData, ParamsBuilder, Version};
use serde_json::Value;

fn vectors() -> Value {
    serde_json::from_str(include_str!("../data/argon2/argon2.json")).unwrap()
}

fn bytes(hex: &Value) -> Vec<u8> {
    let text = hex.as_str().unwrap();
    (0..text.len()).step_by(2).map(|at| u8::from_str_radix(&text[at..at + 2], 16).unwrap()).collect()
}

fn small(value: &Value) -> u32 {
    u32::try_from(value.as_u64().unwrap()).unwrap()
}

#[test]
fn the_vectors_of_rfc_9106_come_out() {
    let all = vectors();
    let vector = &all["rfc9106"];
    let mut params = ParamsBuilder::new();
    params.m_cost(small(&vector["m_kib"])).t_cost(small(&vector["t"])).p_cost(small(&vector["p"])).output_len(32);
    params.data(AssociatedData::new(&bytes(&vector["ad"])).unwrap());
    let (secret, params) = (bytes(&vector["secret"]), params.build().unwrap());
    for (name, algorithm) in
        [("argon2d", Algorithm::Argon2d), ("argon2i", Algorithm::Argon2i), ("argon2id", Algorithm::Argon2id)]
    {
        let argon = Argon2::new_with_secret(&secret, algorithm, Version::V0x13, params.clone()).unwrap();
        let mut tag = [0; 32];
        argon.hash_password_into(&bytes(&vector["password"]), &bytes(&vector["salt"]), &mut tag).unwrap();
        assert_eq!(tag.to_vec(), bytes(&vector["tags"][name]), "{name}");
    }
}

#[test]
fn the_reference_implementations_answers_come_out() {
    let all = vectors();
    let rows = all["reference"].as_array().unwrap();
    assert!(rows.len() > 3);
    for row in rows {
        let mut params = ParamsBuilder::new();
        params.m_cost(small(&row["m_kib"])).t_cost(small(&row["t"])).p_cost(small(&row["p"])).output_len(32);
        let argon = Argon2::new(Algorithm::Argon2id, Version::V0x13, params.build().unwrap());
        let mut tag = [0; 32];
        let text = |name: &str| row[name].as_str().unwrap().as_bytes().to_vec();
        argon.hash_password_into(&text("password"), &text("salt"), &mut tag).unwrap();
        assert_eq!(tag.to_vec(), bytes(&row["argon2id"]), "{row}");
    }
}
