//! The four settings of a joint of this model and their positions.

use crate::units::Setting;

/// Name of a setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SettingName {
    /// Swing resistance against flexion.
    SwingFlexion,
    /// Swing resistance against extension.
    SwingExtension,
    /// Stance resistance against flexion (yield).
    StanceYield,
    /// Load at which the stance valve closes.
    CatchLoad,
}

impl SettingName {
    /// All four, in the order in which they are shown.
    pub const ALL: [Self; 4] = [Self::SwingFlexion, Self::SwingExtension, Self::StanceYield, Self::CatchLoad];

    /// The name as written on the command line and in reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::SwingFlexion => "swing-flexion",
            Self::SwingExtension => "swing-extension",
            Self::StanceYield => "stance-yield",
            Self::CatchLoad => "catch-load",
        }
    }

    /// The setting of that name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.as_str() == name)
    }
}

impl std::fmt::Display for SettingName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.as_str())
    }
}

/// Positions of the four settings; `None` keeps the position of the knee's file, or means that the knee has
/// no such setting.
///
/// ```
/// use kneedamp::joint::{SettingName, Settings};
/// use kneedamp::units::Setting;
/// let mut settings = Settings::default();
/// settings.set(SettingName::CatchLoad, Setting::clamped(0.4));
/// assert_eq!(settings.get(SettingName::CatchLoad), Some(Setting::clamped(0.4)));
/// assert_eq!(settings.get(SettingName::SwingFlexion), None);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Settings([Option<Setting>; 4]);

impl Settings {
    /// Position of one setting.
    #[must_use]
    pub fn get(&self, name: SettingName) -> Option<Setting> {
        self.0[name as usize]
    }

    /// Moves one setting.
    pub fn set(&mut self, name: SettingName, position: Setting) {
        self.0[name as usize] = Some(position);
    }

    /// These positions, with those of `other` where it has any.
    #[must_use]
    pub fn overridden_by(mut self, other: &Self) -> Self {
        for name in SettingName::ALL {
            if let Some(position) = other.get(name) {
                self.set(name, position);
            }
        }
        self
    }
}
