//! Pictures to draw over.

use store::Picture;

use super::{Desk, locked};
use crate::event::Event;
use crate::problem::Problem;

impl Desk {
    /// A picture.
    pub fn picture(&self, name: &str) -> Result<Picture, Problem> {
        let pictures = locked(&self.inner).store.pictures()?;
        let found = pictures.into_iter().find(|picture| picture.name == name);
        found.ok_or_else(|| Problem::not_there("There is no such picture", "load the page anew"))
    }

    /// Keeps a picture to draw over.
    pub fn put_picture(&self, picture: &Picture) -> Result<(), Problem> {
        locked(&self.inner).store.put_picture(picture)?;
        self.tell(Event::Looked);
        Ok(())
    }

    /// Takes a picture out.
    pub fn drop_picture(&self, name: &str) -> Result<(), Problem> {
        let dropped = locked(&self.inner).store.drop_picture(name)?;
        match dropped {
            true => {
                self.tell(Event::Looked);
                Ok(())
            }
            false => Err(Problem::not_there(
                "There is no such picture",
                "load the page anew",
            )),
        }
    }
}
