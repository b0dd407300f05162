//! The scheduled task of Windows (Task Scheduler schema 1.2), as XML. Checked by parsing alone.

use super::{MARK, Service, words, xml};

/// The task's name.
pub const NAME: &str = "Stallhand";

/// The task as text; it runs at login with the person's own rights and no more.
///
/// # Errors
/// Words with a hint when a path cannot be written in one.
pub fn text(service: &Service) -> Result<String, String> {
    let mut arguments = String::new();
    if let Some(config) = &service.config {
        arguments = format!("--config {} ", argument(words(config)?));
    }
    Ok(format!(
        r#"<?xml version="1.0"?>
<!-- {MARK} -->
<Task version="1.2" xmlns="http://schemas.microsoft.com/windows/2004/02/mit/task">
  <RegistrationInfo>
    <Description>Stallhand makes product photos ready to list</Description>
  </RegistrationInfo>
  <Triggers>
    <LogonTrigger>
      <Enabled>true</Enabled>
    </LogonTrigger>
  </Triggers>
  <Principals>
    <Principal id="Person">
      <LogonType>InteractiveToken</LogonType>
      <RunLevel>LeastPrivilege</RunLevel>
    </Principal>
  </Principals>
  <Settings>
    <MultipleInstancesPolicy>IgnoreNew</MultipleInstancesPolicy>
    <DisallowStartIfOnBatteries>false</DisallowStartIfOnBatteries>
    <StopIfGoingOnBatteries>false</StopIfGoingOnBatteries>
    <ExecutionTimeLimit>PT0S</ExecutionTimeLimit>
    <Priority>7</Priority>
    <RestartOnFailure>
      <Interval>PT1M</Interval>
      <Count>5</Count>
    </RestartOnFailure>
  </Settings>
  <Actions Context="Person">
    <Exec>
      <Command>{}</Command>
      <Arguments>{}watch</Arguments>
    </Exec>
  </Actions>
</Task>
"#,
        xml(words(&service.program)?),
        xml(&arguments),
    ))
}

/// A word of a command line as the C runtime of Windows splits it: quoted, backslashes doubled
/// before a quote. A file name there holds no quote.
fn argument(path: &str) -> String {
    let tail = path.len() - path.trim_end_matches('\\').len();
    format!("\"{path}{}\"", "\\".repeat(tail))
}
