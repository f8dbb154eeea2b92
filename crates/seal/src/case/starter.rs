//! The case that `halfmicron new` writes.

/// A commented starter case that solves: a cold-water pump seal, carbon on silicon carbide, 55 mm mean diameter, 1 MPa, 3000 rpm.
/// `name` becomes its title.
pub fn starter(name: &str) -> String {
    let title: String = name.chars().map(|c| if c == '"' || c == '\\' || c.is_control() { ' ' } else { c }).collect();
    let title = if title.trim().is_empty() { "untitled case".to_owned() } else { title.trim().to_owned() };
    include_str!("starter.toml").replacen("TITLE", &title, 1)
}
