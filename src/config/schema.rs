//! The JSON schema of the configuration file, for editors that complete and check while one types.
//! Owns the mapping of kinds to JSON Schema (draft 7, which TOML editors read).

use serde_json::{Map, Value, json};

use super::keys::{Key, Kind, NAME_MOST, SECTIONS};

/// The schema, as indented JSON with a line break at the end.
pub fn text() -> String {
    let mut properties = Map::new();
    for section in SECTIONS {
        let table = table(section.keys, section.says);
        let schema = if section.many {
            json!({ "type": "array", "minItems": 1, "description": section.says, "items": table })
        } else {
            table
        };
        properties.insert(section.name.into(), schema);
    }
    let schema = json!({
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "Stallhand's settings",
        "type": "object",
        "additionalProperties": false,
        "properties": properties,
    });
    format!("{schema:#}\n")
}

fn table(keys: &[Key], says: &str) -> Value {
    let mut properties = Map::new();
    for key in keys {
        let mut schema = kind(key.kind);
        if let Value::Object(entries) = &mut schema {
            entries.insert("description".into(), describe(key).into());
            if let Some(default) = default_of(key) {
                entries.insert("default".into(), default);
            }
        }
        properties.insert(key.name.into(), schema);
    }
    json!({
        "type": "object",
        "description": says,
        "additionalProperties": false,
        "properties": properties,
    })
}

fn describe(key: &Key) -> String {
    let mut text = key.says.to_owned();
    if let Kind::Choice(words) = key.kind {
        for (word, meaning) in words {
            text += &format!(" \"{word}\": {meaning}.");
        }
    }
    text
}

/// The default as JSON; the table holds it as TOML.
fn default_of(key: &Key) -> Option<Value> {
    let table: toml::Table = toml::from_str(&format!("v = {}", key.default)).ok()?;
    serde_json::to_value(table.get("v")?).ok()
}

fn kind(kind: Kind) -> Value {
    let ratio = r"^([1-9]|[1-9][0-9]|100):([1-9]|[1-9][0-9]|100)$";
    match kind {
        Kind::Path => json!({ "type": "string", "minLength": 1 }),
        Kind::Span { .. } => {
            json!({ "type": "string", "pattern": r"^\s*[0-9]+(\.[0-9]*)?\s*(ms|s|m|min|h)$" })
        }
        Kind::Bytes { least, most } => json!({ "anyOf": [
            { "type": "string", "pattern": r"^\s*[0-9]+(\.[0-9]*)?\s*([kKmMgG][iI]?)?[bB]$" },
            { "type": "integer", "minimum": least, "maximum": most },
        ] }),
        Kind::Whole { least, most } => {
            json!({ "type": "integer", "minimum": least, "maximum": most })
        }
        Kind::Number { least, most } => {
            json!({ "type": "number", "minimum": least, "maximum": most })
        }
        Kind::Switch => json!({ "type": "boolean" }),
        Kind::Line { most } => json!({ "type": "string", "maxLength": most }),
        Kind::Name => json!({
            "type": "string",
            "maxLength": NAME_MOST,
            "pattern": "^[A-Za-z0-9][A-Za-z0-9_-]*$",
        }),
        Kind::Shape => json!({ "anyOf": [
            { "const": "as-is" },
            { "type": "string", "pattern": ratio },
        ] }),
        Kind::Ratios => {
            json!({ "type": "array", "items": { "type": "string", "pattern": ratio } })
        }
        Kind::Globs => json!({
            "type": "array",
            "minItems": 1,
            "items": { "type": "string", "minLength": 1 },
        }),
        Kind::Choice(words) => {
            let words: Vec<&str> = words.iter().map(|(w, _)| *w).collect();
            json!({ "enum": words })
        }
        Kind::Colour => json!({ "type": "string", "pattern": "^#[0-9A-Fa-f]{6}$" }),
        Kind::Table(keys) => table(keys, ""),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_setting_stands_in_the_schema_with_its_explanation_and_default() {
        let schema: Value = serde_json::from_str(&text()).unwrap();
        for section in SECTIONS {
            let mut at = &schema["properties"][section.name];
            if section.many {
                at = &at["items"];
            }
            assert_eq!(at["additionalProperties"], json!(false));
            assert_eq!(
                at["properties"].as_object().unwrap().len(),
                section.keys.len()
            );
            for key in section.keys {
                let entry = &at["properties"][key.name];
                assert!(entry["description"].as_str().unwrap().starts_with(key.says));
                assert_eq!(entry.get("default").is_some(), !key.default.is_empty());
            }
        }
        let quality = &schema["properties"]["profile"]["items"]["properties"]["quality"];
        assert_eq!(
            quality["default"],
            json!({ "floor": 70, "ceiling": 92, "target": 88 })
        );
        assert_eq!(quality["properties"]["floor"]["maximum"], json!(100));
    }
}
