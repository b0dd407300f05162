//! The launchd agent of macOS (launchd.plist(5)), as a property list. Checked by parsing alone.

use super::{MARK, Service, words, xml};

/// The agent's label; its file is `LABEL.plist`.
pub const LABEL: &str = "stallhand";

/// The property list as text.
///
/// # Errors
/// Words with a hint when a path cannot be written in one.
pub fn text(service: &Service) -> Result<String, String> {
    let mut arguments = vec![words(&service.program)?];
    if let Some(config) = &service.config {
        arguments.extend(["--config", words(config)?]);
    }
    arguments.push("watch");
    let arguments: String = arguments
        .iter()
        .map(|a| format!("    <string>{}</string>\n", xml(a)))
        .collect();
    Ok(format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<!-- {MARK} -->
<plist version="1.0">
<dict>
  <key>Label</key>
  <string>{LABEL}</string>
  <key>ProgramArguments</key>
  <array>
{arguments}  </array>
  <key>RunAtLoad</key>
  <true/>
  <key>KeepAlive</key>
  <dict>
    <key>SuccessfulExit</key>
    <false/>
  </dict>
  <key>ThrottleInterval</key>
  <integer>30</integer>
  <key>ProcessType</key>
  <string>Background</string>
</dict>
</plist>
"#
    ))
}
